//! Small random jobs and stock lists in which every setting varies.

use crate::shapes::Random;
use serde_json::{Value, json};
use std::fmt::Write;

/// Millimetres in an inch, exactly.
const INCH: f64 = 25.4;

/// The job and the stock list of a seed: up to two glasses and two panels, one to six kinds of pieces each, one to five lines of
/// stock. Everything is accepted by the readers, but for a very few jobs whose pieces come out as no outlines.
#[must_use]
pub fn any_job(seed: u64) -> (Value, String) {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66);
    r.next();
    let unit = if r.next() < 0.25 { INCH } else { 1.0 };
    let glasses: Vec<Value> = (0..pick(&mut r, &[1, 1, 1, 2]))
        .map(|k| glass(&mut r, ["A", "B"][k], unit))
        .collect();
    let panels: Vec<Value> = (0..pick(&mut r, &[1, 1, 2]))
        .map(|k| {
            let pieces: Vec<Value> = (0..pick(&mut r, &[1, 2, 3, 4, 6]))
                .map(|n| {
                    let glass = &glasses[(r.next() * glasses.len() as f64) as usize];
                    piece(&mut r, n + 1, glass, unit)
                })
                .collect();
            let id = ["P", "Q"][k];
            json!({
                "id": id, "quantity": pick(&mut r, &[1, 1, 1, 2, 4]),
                "mirrored_quantity": pick(&mut r, &[0, 0, 1]), "pieces": pieces
            })
        })
        .collect();
    let job = json!({
        "name": "any", "units": if unit == 1.0 { "mm" } else { "in" }, "y": pick(&mut r, &["up", "down"]),
        "settings": settings(&mut r, unit), "glasses": glasses, "panels": panels
    });
    (job, stock(&mut r, &glasses))
}

fn pick<T: Copy>(r: &mut Random, among: &[T]) -> T {
    among[(r.next() * among.len() as f64) as usize]
}

fn settings(r: &mut Random, unit: f64) -> Value {
    let mut settings = json!({ "credit_rate": pick(r, &[0.0, 0.5, 0.5, 1.0]) });
    if r.next() < 0.6 {
        let drawn = r.within(0.0, 2.0);
        settings["score_kerf"] = json!(pick(r, &[0.05, 0.1, 0.2, 0.5, 1.0, 2.0, drawn]) / unit);
    }
    if r.next() < 0.5 {
        settings["keep"] = json!(r.within(60.0, 300.0) / unit);
    }
    if r.next() < 0.3 {
        settings["curve_tolerance"] = json!(pick(r, &[0.02, 0.1, 0.2]) / unit);
    }
    if r.next() < 0.3 {
        settings["breaking"] = json!({ "sharpest_turn": r.within(5.0, 80.0), "pull_margin": r.within(0.0, 30.0) });
    }
    if r.next() < 0.5 {
        settings["layout"] = json!(pick(r, &["shaped", "straight-run", "either"]));
    }
    if r.next() < 0.3 {
        settings["spares"] = json!("always");
    }
    settings
}

fn glass(r: &mut Random, code: &str, unit: f64) -> Value {
    let thickness = r.within(2.0, 6.0);
    let mut glass = json!({
        "code": code, "name": code, "thickness": thickness / unit, "grain": pick(r, &["none", "none", "two-ways", "one-way"]),
        "may_turn_over": r.next() < 0.4, "scored_face": pick(r, &["show", "back"]),
        "grind_allowance": pick(r, &[0.0, 0.0, 0.3, 0.5, 1.0, 2.5]) / unit,
        "price": pick(r, &[0.0, 45.0, 120.0]), "price_unit": pick(r, &["m2", "ft2"])
    });
    if glass["grain"] != "none" {
        glass["grain_tolerance"] = json!(pick(r, &[0.0, 0.0, 2.0, 10.0, 45.0]));
    }
    match (r.next() * 5.0) as u32 {
        0 => glass["narrowest_strip"] = json!(0),
        1 => glass["narrowest_strip"] = json!(thickness / unit),
        2 => glass["narrowest_strip"] = json!(r.within(thickness, 15.0) / unit),
        _ => {}
    }
    match (r.next() * 4.0) as u32 {
        0 => glass["edge_trim"] = json!(0),
        1 => glass["edge_trim"] = json!(r.within(0.0, 25.0) / unit),
        _ => {}
    }
    if r.next() < 0.5 {
        glass["layout"] = json!(pick(r, &["shaped", "straight-run", "either"]));
    }
    glass
}

fn piece(r: &mut Random, number: usize, glass: &Value, unit: f64) -> Value {
    let mut piece = json!({
        "number": number.to_string(), "glass": glass["code"], "outline": outline(r, unit), "spares": pick(r, &[0, 0, 0, 1, 2])
    });
    if glass["grain"] != "none" && r.next() < 0.6 {
        piece["grain"] = json!(pick(r, &[0.0, 90.0, 45.0, -30.0, 180.0]));
    }
    if r.next() < 0.2 {
        piece["one_lot"] = json!(pick(r, &["one", "two"]));
    }
    if r.next() < 0.1 && glass["thickness"].as_f64().is_some_and(|t| t * unit > 3.5) {
        piece["bevel"] = json!({ "width": 5.0 / unit, "nose": 2.0 / unit });
    }
    piece
}

/// Corners or path data, most of it round the middle of a panel.
fn outline(r: &mut Random, unit: f64) -> Value {
    let (w, h) = (r.within(25.0, 200.0) / unit, r.within(25.0, 200.0) / unit);
    let (x, y) = (r.within(-100.0, 600.0) / unit, r.within(-100.0, 600.0) / unit);
    let corners = |points: &[[f64; 2]]| -> Value { points.iter().map(|[a, b]| [x + a, y + b]).collect() };
    match (r.next() * 12.0) as u32 {
        0..=2 => corners(&[[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]),
        3 => corners(&[[0.0, h / 2.0], [w / 2.0, 0.0], [w, h / 2.0], [w / 2.0, h]]),
        4 => {
            let tip = r.within(0.0, w);
            corners(&[[0.0, 0.0], [w, 0.0], [tip, h]])
        }
        5 => {
            let (a, b) = (r.within(0.0, 0.4) * w, r.within(0.6, 1.0) * w);
            corners(&[[0.0, 0.0], [w, 0.0], [b, h], [a, h]])
        }
        6 | 7 => {
            let (count, turn) = (pick(r, &[3, 4, 5, 6, 7]), r.next());
            let round = |i: u32| {
                let angle = (f64::from(i) + turn) / f64::from(count) * std::f64::consts::TAU;
                [0.5 * w * angle.cos(), 0.5 * h * angle.sin()]
            };
            corners(&(0..count).map(round).collect::<Vec<_>>())
        }
        8 => json!(format!(
            "M{x} {y} A{w} {w} 0 0 1 {} {y} A{w} {w} 0 0 1 {x} {y} Z",
            x + w
        )),
        9 => {
            let half = h / 2.0;
            let (right, middle) = (x + w, y + half);
            json!(format!(
                "M{x} {middle} A{} {half} 0 0 1 {right} {middle} A{} {half} 0 0 1 {x} {middle} Z",
                w / 2.0,
                w / 2.0
            ))
        }
        10 => {
            let (p, q) = (r.within(-0.3, 0.3) * h, r.within(-0.3, 0.3) * h);
            json!(format!(
                "M{x} {y} c{} {p} {} {q} {w} 0 v{h} c{} {q} {} {p} {} 0 Z",
                w / 3.0,
                w / 1.5,
                -w / 3.0,
                -w / 1.5,
                -w
            ))
        }
        _ => {
            // A sector between two radii: its inner edge curves in.
            let (inner, outer, half) = (0.5 * w, 0.5 * w + h, r.within(0.15, 0.5));
            let (s, c) = half.sin_cos();
            json!(format!(
                "M{} {} A{inner} {inner} 0 0 1 {} {} L{} {} A{outer} {outer} 0 0 0 {} {} Z",
                x - inner * s,
                y - inner * c,
                x + inner * s,
                y - inner * c,
                x + outer * s,
                y - outer * c,
                x - outer * s,
                y - outer * c
            ))
        }
    }
}

fn stock(r: &mut Random, glasses: &[Value]) -> String {
    let mut list = String::from("kind,tag,glass,units,width,height,count,outline,grain,lot,flaws,price\n");
    let mut number = 0;
    for glass in glasses {
        let code = glass["code"].as_str().unwrap_or("A");
        for _ in 0..pick(r, &[1, 2, 2, 3]) {
            number += 1;
            line(r, &mut list, number, code);
        }
    }
    list
}

fn line(r: &mut Random, list: &mut String, number: u32, code: &str) {
    let unit = if r.next() < 0.2 { INCH } else { 1.0 };
    let (w, h) = (r.within(150.0, 900.0), r.within(150.0, 900.0));
    let units = if unit == 1.0 { "mm" } else { "in" };
    let grain = match (r.next() * 4.0) as u32 {
        0 => r.within(0.0, 360.0).to_string(),
        1 => "0".into(),
        _ => String::new(),
    };
    let lot = pick(r, &["", "", "L1", "L2"]);
    let price = pick(r, &["", "", "30.5"]);
    let is_flawed = r.next() < 0.3;
    let flaws = if is_flawed { flaws(r, w, h, unit) } else { String::new() };
    let (kind, size, count, outline) = match (r.next() * 4.0) as u32 {
        0 | 1 => {
            let count = if is_flawed {
                "1"
            } else {
                pick(r, &["1", "2", "buy", "buy"])
            };
            ("sheet", format!("{},{}", w / unit, h / unit), count, String::new())
        }
        2 => ("offcut", format!("{},{}", w / unit, h / unit), "1", String::new()),
        _ => ("offcut", ",".to_owned(), "1", slanted(r, w, h, unit)),
    };
    let _ = writeln!(
        list,
        "{kind},T{number},{code},{units},{size},{count},{outline},{grain},{lot},{flaws},{price}"
    );
}

/// Circles and boxes in the middle of the glass, where every outline of [`slanted`] has some.
fn flaws(r: &mut Random, w: f64, h: f64, unit: f64) -> String {
    let one = |r: &mut Random| {
        let (x, y) = (r.within(0.35, 0.6) * w / unit, r.within(0.35, 0.6) * h / unit);
        let size = r.within(3.0, 60.0) / unit;
        if r.next() < 0.5 {
            format!("{x} {y} {size}")
        } else {
            format!("{x} {y}; {} {y}; {} {}", x + size, x + size, y + size)
        }
    };
    (0..pick(r, &[1, 1, 2])).map(|_| one(r)).collect::<Vec<_>>().join("|")
}

/// An offcut without a right angle, or with an inside corner.
fn slanted(r: &mut Random, w: f64, h: f64, unit: f64) -> String {
    let mut in_from = |share: f64| r.within(0.0, share);
    let (a, b, c, d) = (in_from(0.3), in_from(0.3), in_from(0.3), in_from(0.3));
    let mut corners = vec![[0.0, a], [1.0 - b, 0.0], [1.0, 1.0 - c], [d, 1.0]];
    match (r.next() * 4.0) as u32 {
        0 => {
            corners.pop();
        }
        1 => corners.insert(1, [0.5 * (1.0 - b), r.within(-0.1, 0.3)]),
        2 => {
            corners.push([0.3, 0.6]);
        }
        _ => {}
    }
    let text = |[x, y]: &[f64; 2]| format!("{} {}", x * w / unit, y * h / unit);
    corners.iter().map(text).collect::<Vec<_>>().join("; ")
}
