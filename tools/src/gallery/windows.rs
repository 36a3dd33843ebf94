//! The six windows. Lead lines are written down or worked out so that every end meets another line.

use serde_json::{Value, json};
use std::f64::consts::PI;
use std::fmt::Write as _;

/// One window of the gallery.
pub(super) struct Window {
    pub(super) name: &'static str,
    pub(super) title: &'static str,
    pub(super) about: &'static str,
    pub(super) panel: &'static str,
    /// How many of its mirror image.
    pub(super) mirrored: u32,
    /// Its cartoon (SVG); none where it is a piece list.
    pub(super) cartoon: Option<String>,
    pub(super) glasses: Vec<Value>,
    /// Glass of the pieces without one of their own.
    pub(super) usual: &'static str,
    pub(super) came: Value,
    pub(super) stock: &'static str,
}

/// A piece list in inches: a transom of bevelled lights.
pub(super) const TRANSOM: &str = "\
number,panel,glass,shape,width,height,diameter,side,angle,quantity,grain,bevel,nose,units,thickness,price,glass_grain,grind
1,T,BEV,,7 1/2,11,,,,4,,1,1/8,in,1/4,9,none,1/32
2,T,BEV,diamond,5,8,,,,3,,3/4,1/8,,,,,
3,T,AMBER,circle,,,3 1/2,,,6,,,,,1/8,14,none,1/32
4,T,REED,,2 3/4,11,,,,6,upright,,,,5/32,7,two-ways,1/32
5,T,REED,round arch,9,13 1/2,,,,2,upright,,,,,,,
";

pub(super) fn all() -> Vec<Window> {
    vec![porch(), quarries(), fanlight(), harbour(), rosette(), transom()]
}

fn glass(code: &str, name: &str, thickness: f64, grain: &str, price: f64) -> Value {
    let tolerance = if grain == "none" { 0.0 } else { 3.0 };
    json!({
        "code": code, "name": name, "thickness": thickness, "grain": grain, "grain_tolerance": tolerance,
        "may_turn_over": grain == "none", "scored_face": "show", "grind_allowance": 0.5, "price": price, "price_unit": "m2"
    })
}

/// A cartoon of a rectangle with these lead lines (path data) and texts.
fn cartoon((width, height): (f64, f64), lines: &[String], texts: &[(f64, f64, &str)]) -> String {
    let border = format!("M 0 0 H {width} V {height} H 0 Z");
    framed((width, height), &border, lines, texts)
}

fn framed((width, height): (f64, f64), border: &str, lines: &[String], texts: &[(f64, f64, &str)]) -> String {
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"-6 -6 {} {}\">\n",
        width + 12.0,
        height + 12.0
    );
    // The drawing is as large as its page: 6 mm of paper round the panel.
    svg = svg.replacen(
        &format!("width=\"{width}mm\" height=\"{height}mm\""),
        &format!("width=\"{}mm\" height=\"{}mm\"", width + 12.0, height + 12.0),
        1,
    );
    let _ = writeln!(svg, "<g fill=\"none\" stroke=\"#333\" stroke-width=\"5\">");
    let _ = writeln!(svg, "<path class=\"border\" d=\"{border}\"/>");
    for line in lines {
        let _ = writeln!(svg, "<path d=\"{line}\"/>");
    }
    svg += "</g>\n<g font-family=\"sans-serif\" font-size=\"11\" text-anchor=\"middle\">\n";
    for (x, y, words) in texts {
        let _ = writeln!(svg, "<text x=\"{x:.1}\" y=\"{y:.1}\">{words}</text>");
    }
    svg + "</g>\n</svg>\n"
}

fn porch() -> Window {
    let lines = [
        "M 80 0 V 600 M 320 0 V 600 M 0 100 H 400 M 0 500 H 400",
        "M 200 100 V 230 M 200 370 V 500 M 80 300 H 130 M 270 300 H 320",
        "M 270 300 A 70 70 0 0 1 130 300 A 70 70 0 0 1 270 300",
    ];
    let texts = [
        (40.0, 55.0, "1 AMBER"),
        (200.0, 55.0, "2"),
        (360.0, 55.0, "3 AMBER"),
        (40.0, 300.0, "4"),
        (360.0, 300.0, "5"),
        (140.0, 180.0, "6 CLEAR"),
        (260.0, 180.0, "7 CLEAR"),
        (200.0, 305.0, "8 AMBER"),
        (140.0, 430.0, "9 CLEAR"),
        (260.0, 430.0, "10 CLEAR"),
        (40.0, 555.0, "11 AMBER"),
        (200.0, 555.0, "12"),
        (360.0, 555.0, "13 AMBER"),
    ];
    Window {
        name: "porch",
        title: "Porch light",
        about: "Straight leads and one roundel: reeded margins, amber corners. Straight runs share their scores.",
        panel: "P",
        mirrored: 0,
        cartoon: Some(cartoon((400.0, 600.0), &lines.map(str::to_owned), &texts)),
        glasses: vec![
            glass("REED", "Reeded", 4.0, "two-ways", 48.0),
            glass("CLEAR", "Clear", 3.0, "none", 20.0),
            glass("AMBER", "Amber", 3.0, "none", 90.0),
        ],
        usual: "REED",
        came: json!({ "face": 6, "heart": 1.2 }),
        stock: "kind,tag,glass,units,width,height,count,outline,place\n\
                sheet,REED-A,REED,mm,400,900,1,,A1\nsheet,CLEAR-A,CLEAR,mm,610,610,buy,,\n\
                offcut,17,AMBER,mm,,,1,0 0; 330 0; 330 190; 210 300; 0 300,C4\nsheet,AMBER-A,AMBER,mm,300,300,buy,,\n",
    }
}

/// A lattice of 4 by 4 diamonds of 90 × 140 in a border of 30.
fn quarries() -> Window {
    let (left, bottom, across, up) = (30.0, 30.0, 90.0, 140.0);
    let (right, top) = (left + 4.0 * across, bottom + 4.0 * up);
    let mut lines = vec![
        format!("M {left} {bottom} H {right} V {top} H {left} Z"),
        format!("M 0 0 L {left} {bottom} M 420 0 L {right} {bottom} M 0 620 L {left} {top} M 420 620 L {right} {top}"),
    ];
    // Both families start on the left edge, or on the bottom or top edge, at whole diamonds.
    for k in 0..4 {
        let k = f64::from(k);
        for (from, to) in [(bottom, top), (top, bottom)] as [(f64, f64); 2] {
            let sense = (to - from).signum();
            let (start, end) = (from + sense * k * up, right - k * across);
            lines.push(format!("M {left} {start} L {end} {to}"));
            if k > 0.0 {
                let (start, end) = (left + k * across, to - sense * k * up);
                lines.push(format!("M {start} {from} L {right} {end}"));
            }
        }
    }
    let mut texts = vec![
        (220.0, 20.0, "BLUE"),
        (220.0, 608.0, "BLUE"),
        (15.0, 310.0, "BLUE"),
        (405.0, 310.0, "BLUE"),
    ];
    // Four quarries that make a larger one, about the middle.
    for (x, y) in [(0.0, -0.5), (0.0, 0.5), (-0.5, 0.0), (0.5, 0.0)] {
        texts.push((210.0 + x * across, 310.0 + y * up + 4.0, "ROSE"));
    }
    Window {
        name: "quarries",
        title: "Landing window",
        about: "Diamond quarries in a blue border, a rose in the middle. Rows of quarries break out along common scores.",
        panel: "L",
        mirrored: 0,
        cartoon: Some(cartoon((420.0, 620.0), &lines, &texts)),
        glasses: vec![
            glass("CLEAR", "Clear", 3.0, "none", 20.0),
            glass("BLUE", "Blue", 3.0, "none", 85.0),
            glass("ROSE", "Rose", 3.0, "none", 110.0),
        ],
        usual: "CLEAR",
        came: json!({ "face": 5, "heart": 1.2 }),
        stock: "kind,tag,glass,units,width,height,count,outline,place\n\
                sheet,CLEAR-A,CLEAR,mm,610,610,buy,,\nsheet,BLUE-A,BLUE,mm,300,700,1,,B2\n\
                offcut,R8,ROSE,mm,,,1,0 0; 260 0; 320 180; 260 330; 0 330,C1\n",
    }
}

/// Half round: a hub, two rings of six wedges.
fn fanlight() -> Window {
    let (cx, cy, hub, ring, rim) = (300.0, 300.0, 90.0, 200.0, 300.0);
    let at = |radius: f64, degrees: f64| {
        let angle = degrees * PI / 180.0;
        (cx + radius * angle.cos(), cy - radius * angle.sin())
    };
    let arc = |radius: f64| format!("M {} {cy} A {radius} {radius} 0 0 1 {} {cy}", cx - radius, cx + radius);
    let mut lines = vec![arc(hub), arc(ring)];
    for k in 1..6 {
        let (from, to) = (at(hub, f64::from(k) * 30.0), at(rim, f64::from(k) * 30.0));
        lines.push(format!("M {:.3} {:.3} L {:.3} {:.3}", from.0, from.1, to.0, to.1));
    }
    let mut texts = vec![(cx, cy - 30.0, "GOLD")];
    for k in 0..6 {
        let (x, y) = at(245.0, f64::from(k) * 30.0 + 15.0);
        texts.push((x, y, if k % 2 == 0 { "SEA" } else { "GOLD" }));
    }
    let border = format!("M 0 {cy} A {rim} {rim} 0 0 1 {} {cy} Z", 2.0 * rim);
    Window {
        name: "fanlight",
        title: "Fanlight",
        about: "A half round of wedges and a hub, over a front door. Curves are the last breaks.",
        panel: "F",
        mirrored: 0,
        cartoon: Some(framed((600.0, 300.0), &border, &lines, &texts)),
        glasses: vec![
            glass("RIPPLE", "Ripple", 3.0, "two-ways", 55.0),
            glass("SEA", "Sea green", 3.0, "none", 70.0),
            glass("GOLD", "Gold", 3.0, "none", 80.0),
        ],
        usual: "RIPPLE",
        came: json!({ "face": 6, "heart": 1.2 }),
        stock: "kind,tag,glass,units,width,height,count,outline,flaws\n\
                sheet,RIPPLE-A,RIPPLE,mm,400,600,1,,\nsheet,SEA-A,SEA,mm,400,400,1,,60 330 14\n\
                sheet,GOLD-A,GOLD,mm,500,400,1,,\n",
    }
}

/// A point of a cubic curve.
fn on(curve: &[(f64, f64); 4], t: f64) -> (f64, f64) {
    let s = 1.0 - t;
    let of = |c: [f64; 4]| s * s * s * c[0] + 3.0 * s * s * t * c[1] + 3.0 * s * t * t * c[2] + t * t * t * c[3];
    (of(curve.map(|p| p.0)), of(curve.map(|p| p.1)))
}

/// Waves, the sun, and where sky, sea and sand are divided.
fn harbour_lines() -> Vec<String> {
    let wave = |left: f64, right: f64, swing: f64| {
        [
            (0.0, left),
            (160.0, left - swing),
            (330.0, right + swing),
            (480.0, right),
        ]
    };
    let waves = [
        wave(380.0, 370.0, 60.0),
        wave(460.0, 480.0, -70.0),
        wave(560.0, 545.0, 60.0),
    ];
    let mut lines: Vec<String> = waves
        .iter()
        .map(|[a, b, c, d]| format!("M {} {} C {} {} {} {} {} {}", a.0, a.1, b.0, b.1, c.0, c.1, d.0, d.1))
        .collect();
    // The sun, and where the sky is divided.
    lines.push("M 400 170 A 70 70 0 0 1 260 170 A 70 70 0 0 1 400 170".into());
    let rim = |degrees: f64| {
        let angle = degrees * PI / 180.0;
        (330.0 + 70.0 * angle.cos(), 170.0 - 70.0 * angle.sin())
    };
    for (degrees, (x, y), (bx, by)) in [
        (60.0, (400.0, 0.0), (380.0, 50.0)),
        (150.0, (0.0, 90.0), (150.0, 90.0)),
        (215.0, (0.0, 290.0), (150.0, 300.0)),
        (340.0, (480.0, 230.0), (440.0, 190.0)),
    ] {
        let (sx, sy) = rim(degrees);
        lines.push(format!("M {sx:.3} {sy:.3} Q {bx} {by} {x} {y}"));
    }
    let (sx, sy) = rim(275.0);
    let (x, y) = on(&waves[0], 0.66);
    lines.push(format!("M {sx:.3} {sy:.3} L {x:.3} {y:.3}"));
    for (above, t, below, u) in [(0, 0.35, 1, 0.3), (0, 0.75, 1, 0.8), (1, 0.55, 2, 0.5)] {
        let ((ax, ay), (bx, by)) = (on(&waves[above], t), on(&waves[below], u));
        lines.push(format!("M {ax:.3} {ay:.3} L {bx:.3} {by:.3}"));
    }
    let (x, y) = on(&waves[2], 0.45);
    lines.push(format!("M {x:.3} {y:.3} L 200 640"));
    lines
}

fn harbour() -> Window {
    let lines = harbour_lines();
    let texts = [
        (330.0, 175.0, "SUN"),
        (80.0, 420.0, "SEA"),
        (250.0, 420.0, "SEA"),
        (440.0, 430.0, "SEA"),
        (120.0, 510.0, "SEA"),
        (380.0, 520.0, "SEA"),
        (80.0, 610.0, "SAND"),
        (350.0, 600.0, "SAND"),
    ];
    Window {
        name: "harbour",
        title: "Harbour at dawn",
        about: "Long curves in three glasses. The sky is shaded: its grain runs one way only, and every piece keeps to it.",
        panel: "H",
        mirrored: 0,
        cartoon: Some(cartoon((480.0, 640.0), &lines, &texts)),
        glasses: vec![
            glass("SKY", "Dawn sky", 3.0, "one-way", 120.0),
            glass("SEA", "Sea green", 3.0, "none", 70.0),
            glass("SUN", "Sunrise", 3.0, "none", 130.0),
            glass("SAND", "Sand", 3.0, "none", 60.0),
        ],
        usual: "SKY",
        came: json!({ "face": 6, "heart": 1.2 }),
        stock: "kind,tag,glass,units,width,height,count,outline,place\n\
                sheet,SKY-A,SKY,mm,610,810,buy,,\nsheet,SEA-A,SEA,mm,610,610,1,,A3\n\
                offcut,S2,SUN,mm,,,1,0 0; 210 0; 210 150; 150 200; 0 200,C2\nsheet,SAND-A,SAND,mm,500,300,1,,A4\n",
    }
}

/// Eight scalloped petals round an eye, rays to the edge of a square.
fn rosette() -> Window {
    let (middle, eye, petal, scallop) = (220.0, 50.0, 130.0, 66.0);
    let at = |radius: f64, k: f64| {
        let angle = k * PI / 4.0;
        (middle + radius * angle.cos(), middle - radius * angle.sin())
    };
    let mut lines = vec![format!(
        "M {} {middle} A {eye} {eye} 0 0 1 {} {middle} A {eye} {eye} 0 0 1 {} {middle}",
        middle + eye,
        middle - eye,
        middle + eye
    )];
    let mut texts = vec![(middle, middle + 5.0, "GOLD")];
    for k in 0..8 {
        let k = f64::from(k);
        let (from, tip) = (at(eye, k), at(petal, k));
        let reach = if k % 2.0 == 0.0 {
            middle
        } else {
            middle * 2.0_f64.sqrt()
        };
        let edge = at(reach, k);
        let next = at(petal, k + 1.0);
        lines.push(format!("M {:.3} {:.3} L {:.3} {:.3}", from.0, from.1, edge.0, edge.1));
        lines.push(format!(
            "M {:.3} {:.3} A {scallop} {scallop} 0 0 0 {:.3} {:.3}",
            tip.0, tip.1, next.0, next.1
        ));
        let (x, y) = at(100.0, k + 0.5);
        texts.push((x, y + 5.0, if k % 2.0 == 0.0 { "ROSE" } else { "PLUM" }));
    }
    Window {
        name: "rosette",
        title: "Pair of rosettes",
        about: "Scalloped petals round an eye, one as drawn and one mirrored. An offcut with a lost corner is used first.",
        panel: "R",
        mirrored: 1,
        cartoon: Some(cartoon((440.0, 440.0), &lines, &texts)),
        glasses: vec![
            glass("REED", "Fine reeded", 4.0, "two-ways", 48.0),
            glass("ROSE", "Rose", 3.0, "none", 110.0),
            glass("PLUM", "Plum", 3.0, "none", 100.0),
            glass("GOLD", "Gold", 3.0, "none", 80.0),
        ],
        usual: "REED",
        came: json!({ "face": 6, "heart": 1.2 }),
        stock: "kind,tag,glass,units,width,height,count,outline,place\n\
                sheet,REED-A,REED,mm,610,810,buy,,\nsheet,ROSE-A,ROSE,mm,400,500,1,,B1\n\
                offcut,P3,PLUM,mm,,,1,0 0; 430 0; 430 220; 300 420; 0 420,C3\nsheet,PLUM-A,PLUM,mm,400,500,buy,,\n\
                sheet,GOLD-A,GOLD,mm,300,200,1,,B4\n",
    }
}

fn transom() -> Window {
    Window {
        name: "transom",
        title: "Transom in inches",
        about: "Bevelled lights from a piece list, no drawing. The whole job is told in inches, square feet and pounds.",
        panel: "T",
        mirrored: 0,
        cartoon: None,
        glasses: vec![],
        usual: "",
        came: Value::Null,
        stock: "kind,tag,glass,units,width,height,count,outline,place\n\
                sheet,BEV-A,BEV,in,24,36,1,,A1\nsheet,AMBER-A,AMBER,in,12,12,1,,B2\nsheet,REED-A,REED,in,24,36,buy,,\n\
                offcut,R5,REED,in,,,1,0 0; 21 0; 21 12; 16 14; 0 14,C1\n",
    }
}
