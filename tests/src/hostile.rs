//! Inputs that ask for much more time or memory than their size: drawings that cross themselves a million times, splines and XML
//! that blow up, needles, outlines of thousands of corners, tens of thousands of pieces, plans of hundreds of megabytes.

use crate::shapes::Random;
use crate::{Sheet, bare_glass, job, piece, rectangle, sheets};
use serde_json::{Value, json};
use std::f64::consts::TAU;
use std::fmt::Write;

/// One such input and what is typed.
#[derive(Debug)]
pub struct Case {
    /// What it is.
    pub name: String,
    /// What is typed, without the program's name.
    pub typed: Vec<String>,
    /// The files that stand beside it.
    pub files: Vec<(String, Vec<u8>)>,
    /// Named pipes that nobody writes to.
    pub pipes: Vec<String>,
    /// Exit codes that are right.
    pub codes: Vec<i32>,
    /// What the answer must name.
    pub says: &'static str,
    /// Whether it is run only when asked for: long, or more than the program bears yet.
    pub only_asked: bool,
}

impl Case {
    fn new(name: impl Into<String>, typed: &str) -> Self {
        Self {
            name: name.into(),
            typed: typed.split(' ').map(str::to_owned).collect(),
            files: vec![],
            pipes: vec![],
            codes: vec![0],
            says: "",
            only_asked: false,
        }
    }

    fn with(mut self, file: &str, content: impl Into<Vec<u8>>) -> Self {
        self.files.push((file.into(), content.into()));
        self
    }

    fn ends(mut self, codes: &[i32], says: &'static str) -> Self {
        self.codes = codes.to_vec();
        self.says = says;
        self
    }

    /// A job of these pieces on `count` sheets of 1 x 2 m, two seconds of search.
    fn plan(name: impl Into<String>, quantity: u32, pieces: &[Value], count: u32) -> Self {
        let mut glass = bare_glass("A", 3.0);
        glass["grind_allowance"] = json!(0.5);
        glass["narrowest_strip"] = json!(6.0);
        let sheet = Sheet {
            tag: "float",
            glass: "A",
            width: 1000.0,
            height: 2000.0,
            count,
        };
        Self::new(name, "plan job.json --stock stock.csv --out out --seconds 2")
            .with("job.json", job(&[glass], quantity, pieces).to_string())
            .with("stock.csv", sheets(&[sheet]))
            .ends(&[0, 3], "")
    }

    fn asked(mut self, only_asked: bool) -> Self {
        self.only_asked = only_asked;
        self
    }

    fn svg(name: impl Into<String>, inner: &str) -> Self {
        let frame = r#"<rect x="0" y="0" width="1000" height="1000"/>"#;
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000mm\" height=\"1000mm\" viewBox=\"0 0 1000 1000\">{frame}{inner}</svg>"
        );
        Self::new(name, "drawing panel.svg")
            .with("panel.svg", text)
            .ends(&[0, 2], "")
    }
}

/// Lines by the thousand that cross, meet in one point or nearly lie on each other.
fn crossing_lines() -> Vec<Case> {
    let mut all = vec![];
    for n in [2_000, 5_000, 50_000] {
        let half = n / 2;
        let mut path = String::new();
        for k in 1..half {
            let at = k as f64 * 1000.0 / half as f64;
            let _ = write!(path, "M{at:.2} 0V1000M0 {at:.2}H1000");
        }
        all.push(Case::svg(
            format!("cross-hatching of {n} lines"),
            &format!("<path d=\"{path}\"/>"),
        ));
    }
    let mut fan = String::new();
    for k in 0..5_000 {
        let turn = f64::from(k) / 5_000.0 * TAU;
        let (s, c) = turn.sin_cos();
        let _ = write!(fan, "M500 500L{:.3} {:.3}", 500.0 + 400.0 * c, 500.0 + 400.0 * s);
    }
    all.push(Case::svg(
        "5000 lines out of one point",
        &format!("<path d=\"{fan}\"/>"),
    ));
    let circles: String = (0..5_000)
        .map(|k| {
            format!(
                "<circle cx=\"{}\" cy=\"{}\" r=\"400\"/>",
                500.0 + f64::from(k) * 0.01,
                500
            )
        })
        .collect();
    all.push(Case::svg("5000 circles nearly on each other", &circles));
    all
}

/// Drawings.
#[must_use]
pub fn drawings() -> Vec<Case> {
    let mut all = vec![];
    let mut r = Random(7);
    let mut curves = |n: usize| {
        let mut path = String::from("M0 0");
        for _ in 0..n {
            let mut at = || (r.next() * 1000.0) as u32;
            let _ = write!(path, "Q{} {} {} {}", at(), at(), at(), at());
        }
        format!("<path d=\"{path}\"/>")
    };
    for n in [600, 5_000] {
        all.push(Case::svg(format!("{n} curves over each other"), &curves(n)));
    }
    for n in [4_000, 10_000, 100_000] {
        all.push(Case::svg(
            format!("{n} equal lines on each other"),
            &"<path d=\"M0 500H1000\"/>".repeat(n),
        ));
    }
    let mut lines = String::new();
    for k in 0..10_000 {
        let _ = write!(
            lines,
            "<path d=\"M{} 500H{}\"/>",
            k as f64 * 0.04,
            1000.0 - k as f64 * 0.04
        );
    }
    all.push(Case::svg("10000 lines on each other, each shorter", &lines));
    all.extend(crossing_lines());
    for (points, degree) in [(5_003, 3), (5_003, 7), (100_003, 3)] {
        all.push(
            Case::new(
                format!("a spline of {points} wild points, degree {degree}"),
                "drawing panel.dxf",
            )
            .with("panel.dxf", wild_spline(points, degree))
            .ends(&[0, 2], ""),
        );
    }
    all.extend(entities());
    all.push(Case::svg(
        "a piece number of 101 characters",
        &format!("<text x=\"500\" y=\"500\">{}</text>", "1".repeat(101)),
    ));
    let deep = format!("{}{}", "<g>".repeat(200_000), "</g>".repeat(200_000));
    all.push(Case::svg("200000 groups inside one another", &deep));
    all
}

fn wild_spline(points: usize, degree: usize) -> String {
    let mut r = Random(11);
    let mut text = format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nSPLINE\n8\nlead\n70\n12\n71\n{degree}\n72\n{}\n73\n{points}\n74\n0\n",
        points + degree + 1
    );
    for k in 0..=points + degree {
        let knot = k.clamp(degree, points) - degree;
        let _ = writeln!(text, "40\n{knot}");
    }
    for _ in 0..points {
        let (x, y, w) = (r.within(0.0, 1000.0), r.within(0.0, 1000.0), r.within(0.01, 100.0));
        let _ = writeln!(text, "10\n{x:.3}\n20\n{y:.3}\n30\n0\n41\n{w:.3}");
    }
    text + "0\nENDSEC\n0\nEOF\n"
}

fn entities() -> Vec<Case> {
    let head = "xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"100mm\" viewBox=\"0 0 100 100\"";
    let entity = |long: &str| format!("<!DOCTYPE svg [<!ENTITY a \"{long}\">]>");
    let squared = format!(
        "{}<svg {head}><text x=\"1\" y=\"1\">{}</text></svg>",
        entity(&"x".repeat(100_000)),
        "&a;".repeat(100_000)
    );
    let in_path = format!(
        "{}<svg {head}><path d=\"M0 0{}\"/></svg>",
        entity(&"L1 1 2 2".repeat(20_000)),
        "&a;".repeat(20_000)
    );
    let elements = format!(
        "{}<svg {head}>{}</svg>",
        entity(&"<path d='M0 0L9 9'/>".repeat(5_000)),
        "&a;".repeat(5_000)
    );
    let mut laughs = String::from("<!DOCTYPE svg [<!ENTITY a0 \"ha\">");
    for k in 1..40 {
        let _ = write!(laughs, "<!ENTITY a{k} \"{}\">", format!("&a{};", k - 1).repeat(10));
    }
    let laughs = format!("{laughs}]><svg {head}><text x=\"1\" y=\"1\">&a39;</text></svg>");
    let mut many = String::from("<!DOCTYPE svg [");
    for k in 0..200_000 {
        let _ = write!(many, "<!ENTITY a{k} \"x\">");
    }
    let many = format!(
        "{many}]><svg {head}><text x=\"1\" y=\"1\">{}</text></svg>",
        "&a199999;".repeat(200_000)
    );
    [
        ("XML entity, long times often, in a text", squared),
        ("XML entity, long times often, in a path", in_path),
        ("XML entity, long times often, of elements", elements),
        ("XML entities inside one another", laughs),
        ("200000 XML entities, the last used often", many),
    ]
    .into_iter()
    .map(|(name, text)| {
        Case::new(name, "drawing panel.svg")
            .with("panel.svg", text)
            .ends(&[0, 2], "")
    })
    .collect()
}

/// A round of so many corners, each a little off the circle.
fn rough_round(corners: u32, radius: f64) -> Vec<[f64; 2]> {
    (0..corners)
        .map(|k| {
            let turn = f64::from(k) / f64::from(corners) * TAU;
            let r = radius + 0.02 * f64::from(k % 2);
            [300.0 + r * turn.cos(), 300.0 + r * turn.sin()]
        })
        .collect()
}

/// Jobs.
#[must_use]
pub fn jobs() -> Vec<Case> {
    let mut all = vec![];
    for corners in [300, 500, 700, 4_999] {
        all.push(
            Case::plan(
                format!("a piece of {corners} corners"),
                1,
                &[piece("1", "A", &rough_round(corners, 250.0))],
                2,
            )
            .asked(corners != 4_999),
        );
    }
    all.push(Case::plan(
        "a needle of 500 x 0.01 mm",
        1,
        &[rectangle("1", "A", 500.0, 0.01)],
        1,
    ));
    let far: Vec<[f64; 2]> = [[0.0, 0.0], [0.3, 0.0], [0.3, 0.3], [0.0, 0.3]]
        .iter()
        .map(|[x, y]| [99_000.0 + x, 99_000.0 + y])
        .collect();
    all.push(Case::plan(
        "a small piece far from the origin",
        1,
        &[piece("1", "A", &far)],
        1,
    ));
    let pieces = [rectangle("1", "A", 40.0, 60.0)];
    all.push(Case::plan("50000 copies of a piece", 50_000, &pieces, 200));
    let kinds: Vec<Value> = (0..64)
        .map(|k| {
            rectangle(
                &k.to_string(),
                "A",
                40.0 + f64::from(k % 8) * 9.0,
                50.0 + f64::from(k / 8) * 9.0,
            )
        })
        .collect();
    all.push(Case::plan("20032 pieces of 64 kinds", 313, &kinds, 200).asked(true));
    let listed = |n: u32| -> Vec<Value> {
        (0..n)
            .map(|k| {
                let (w, h) = (40.0 + f64::from(k % 97) * 0.7, 50.0 + f64::from(k % 89) * 0.9);
                piece(&k.to_string(), "A", &[[0.0, 0.0], [w, 0.0], [w * 0.9, h], [w * 0.1, h]])
            })
            .collect()
    };
    all.push(Case::plan("2000 listed pieces, all different", 1, &listed(2_000), 50));
    all.push(Case::plan("5000 listed pieces, all different", 1, &listed(5_000), 50).asked(true));
    all.push(Case::plan("20000 listed pieces, all different", 1, &listed(20_000), 150).asked(true));
    let deep = format!("{}{}", "[".repeat(1 << 20), "]".repeat(1 << 20));
    let refused = |name: &str, text: String| {
        Case::new(name, "plan job.json --stock stock.csv --out out")
            .with("job.json", text)
            .with(
                "stock.csv",
                "kind,tag,glass,units,width,height,count\nsheet,A,A,mm,1000,1000,1\n",
            )
            .ends(&[2], "job.json")
    };
    all.push(refused("a job of brackets inside one another", deep));
    let many = format!("{{\"name\":\"x\",\"panels\":[{}{{}}]}}", "{},".repeat(3_000_000));
    all.push(refused("a job of 3000000 empty panels", many));
    all.push(refused("a job of 30 MiB", " ".repeat(30 << 20)));
    all
}

/// Stock lists.
#[must_use]
pub fn stock_lists() -> Vec<Case> {
    let job_text = job(&[bare_glass("A", 3.0)], 1, &[rectangle("1", "A", 100.0, 100.0)]).to_string();
    let head = "kind,tag,glass,units,width,height,count\n";
    let with = |name: &str, stock: String, codes: &[i32]| {
        Case::new(name, "plan job.json --stock stock.csv --out out --seconds 2")
            .with("job.json", job_text.clone())
            .with("stock.csv", stock)
            .ends(codes, "")
    };
    let lines: String = (0..200_000).map(|k| format!("sheet,T{k},A,mm,1000,1000,1\n")).collect();
    let wrong: String = (0..200_000).map(|k| format!("sheet,T{k},,mm,-1,x,1\n")).collect();
    let offcuts: String = (0..20_000)
        .map(|k| format!("offcut,T{k},A,mm,{},{},1\n", 120 + k % 700, 110 + k % 900))
        .collect();
    vec![
        with("a stock list of 200000 lines", format!("{head}{lines}"), &[0, 2]),
        with("a stock list of 200000 wrong lines", format!("{head}{wrong}"), &[2]),
        with("20000 offcuts", format!("{head}{offcuts}"), &[0]),
        with(
            "a stock list of one cell of 10 MiB",
            format!("{head}sheet,\"{}", "x\"\"".repeat(3 << 20)),
            &[2],
        ),
    ]
}

/// Plans. Those of more than 10 MiB are too much for one gibibyte by right, and must be refused.
#[must_use]
pub fn plans() -> Vec<Case> {
    let check = |name: &str, text: String| {
        Case::new(name, "check plan.json")
            .with("plan.json", text)
            .ends(&[2, 5], "plan.json")
    };
    let head = "{\"format\":\"cullet-plan 5\",";
    vec![
        check(
            "a plan of 10 MiB of small lists",
            format!("{head}\"x\":[{}[]]}}", "[],".repeat(3_400_000)),
        ),
        check(
            "a plan of 10 MiB of small objects",
            format!("{head}\"job\":[{}{{}}]}}", "{\"a\":1},".repeat(1_200_000)),
        ),
        check(
            "a plan of 250 MiB of small objects",
            format!("{head}\"job\":[{}{{}}]}}", "{\"a\":1},".repeat(32_000_000)),
        )
        .asked(true),
        check("a plan of 250 MiB of spaces", " ".repeat(250 << 20)).asked(true),
    ]
}

/// Files that are pipes which nobody writes to.
#[must_use]
pub fn pipes() -> Vec<Case> {
    let job_text = job(&[bare_glass("A", 3.0)], 1, &[rectangle("1", "A", 100.0, 100.0)]).to_string();
    [
        "plan pipe --stock stock.csv --out out",
        "plan job.json --stock pipe --out out",
        "plan job.json --rack pipe --out out",
        "compare pipe --stock stock.csv --out out",
        "check pipe",
        "drawing pipe",
        "drawing --job pipe",
        "book pipe --rack shop.rack",
        "recut pipe --rack shop.rack --piece P1 --out out",
        "rack list --rack pipe",
        "rack audit --rack pipe",
        "rack import pipe --rack new.rack",
        "rack backup copy.rack --rack pipe",
    ]
    .into_iter()
    .map(|typed| {
        let mut case = Case::new(format!("a pipe nobody writes to: {typed}"), typed)
            .with("job.json", job_text.clone())
            .with(
                "stock.csv",
                "kind,tag,glass,units,width,height,count\nsheet,A,A,mm,1000,1000,1\n",
            )
            .ends(&[2], "pipe");
        case.pipes = vec!["pipe".into()];
        case
    })
    .collect()
}
