//! Random jobs of six kinds, every piece of which must be freed by a breaking order that the verifier replays.
//!
//! A few are run each time; `CULLET_RANDOM_JOBS=200` runs so many.

use cullet::Exit;
use cullet_tests::{Bench, Checked, bare_glass, job};
use serde_json::{Value, json};

/// Random numbers that are the same everywhere (Knuth's MMIX multiplier).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// Outlines as path data, y up.
fn quarries(r: &mut Random, n: usize) -> Vec<String> {
    let (w, h) = (r.within(40.0, 120.0), r.within(40.0, 150.0));
    let half = n / 5;
    let mut all = vec![format!("M0 {} L{} 0 L{w} {} L{} {h} Z", h / 2.0, w / 2.0, h / 2.0, w / 2.0); n - half];
    all.extend(vec![format!("M0 0 H{w} L{} {} Z", w / 2.0, h / 2.0); half]);
    all
}

fn borders(r: &mut Random, n: usize) -> Vec<String> {
    let width = r.within(15.0, 40.0);
    (0..n)
        .map(|_| {
            let (length, mitre) = (r.within(80.0, 300.0), if r.next() < 0.4 { width } else { 0.0 });
            format!("M0 0 H{length} L{} {width} H{mitre} Z", length - mitre)
        })
        .collect()
}

/// Sectors between two radii, as round a rose: the inner edge curves in.
fn rays(r: &mut Random, n: usize) -> Vec<String> {
    let (inner, outer) = (r.within(60.0, 120.0), r.within(160.0, 260.0));
    (0..n)
        .map(|_| {
            let half = r.within(0.12, 0.35);
            let (s, c) = half.sin_cos();
            format!(
                "M{} {} A{inner} {inner} 0 0 1 {} {} L{} {} A{outer} {outer} 0 0 0 {} {} Z",
                -inner * s,
                -inner * c,
                inner * s,
                -inner * c,
                outer * s,
                -outer * c,
                -outer * s,
                -outer * c
            )
        })
        .collect()
}

/// Kites, triangles and octagons.
fn clusters(r: &mut Random, n: usize) -> Vec<String> {
    (0..n)
        .map(|_| {
            let a = r.within(30.0, 80.0);
            match (r.next() * 3.0) as u32 {
                0 => format!("M0 0 L{a} {} L0 {} L{} {} Z", a * 0.8, a * 2.0, -a, a * 0.8),
                1 => format!("M0 0 H{} L{a} {} Z", 2.0 * a, a * r.within(0.7, 1.5)),
                _ => format!(
                    "M{a} 0 H{b} L{c} {a} V{b} L{b} {c} H{a} L0 {b} V{a} Z",
                    b = 2.0 * a,
                    c = 3.0 * a
                ),
            }
        })
        .collect()
}

/// Pieces between two waves, leaves and rounds.
fn flowing(r: &mut Random, n: usize) -> Vec<String> {
    (0..n)
        .map(|_| {
            let (w, h) = (r.within(80.0, 180.0), r.within(50.0, 110.0));
            let (p, q) = (r.within(-0.35, 0.35) * h, r.within(-0.35, 0.35) * h);
            match (r.next() * 4.0) as u32 {
                0 => format!("M0 0 A{w} {w} 0 0 1 {w} 0 A{w} {w} 0 0 1 0 0 Z"),
                1 => format!(
                    "M0 {} A{h} {h} 0 0 1 {} {} A{h} {h} 0 0 1 0 {} Z",
                    h / 2.0,
                    h,
                    h / 2.0,
                    h / 2.0
                ),
                _ => format!(
                    "M0 0 C{} {p} {} {q} {w} 0 V{h} C{} {} {} {} 0 {h} Z",
                    w / 3.0,
                    w / 1.5,
                    w / 1.5,
                    h + q,
                    w / 3.0,
                    h + p
                ),
            }
        })
        .collect()
}

fn outlines(kind: usize, r: &mut Random) -> Vec<String> {
    let n = 8 + (r.next() * 30.0) as usize;
    match kind {
        0 => quarries(r, n),
        1 => borders(r, n),
        2 => rays(r, n),
        3 => clusters(r, n),
        4 => flowing(r, n),
        _ => {
            let mut all = quarries(r, n / 5 + 5);
            all.extend(borders(r, n / 5 + 1));
            all.extend(rays(r, n / 5 + 1));
            all.extend(clusters(r, n / 5 + 1));
            all.extend(flowing(r, n / 5 + 1));
            all
        }
    }
}

fn one(seed: u64) -> Result<(), String> {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let kind = (seed % 6) as usize;
    let layout = ["shaped", "either", "straight-run"][(seed / 6 % 3) as usize];
    let pieces: Vec<Value> = outlines(kind, &mut r)
        .iter()
        .enumerate()
        .map(|(i, data)| json!({ "number": (i + 1).to_string(), "glass": "A", "outline": data }))
        .collect();
    let mut glass = bare_glass("A", 3.0);
    glass["narrowest_strip"] = json!(6.0);
    glass["edge_trim"] = json!(if r.next() < 0.5 { 10.0 } else { 0.0 });
    glass["grind_allowance"] = json!(if r.next() < 0.5 { 0.5 } else { 0.0 });
    glass["may_turn_over"] = json!(r.next() < 0.5);
    glass["layout"] = json!(layout);
    if r.next() < 0.3 {
        glass["grain"] = json!("two-ways");
        glass["grain_tolerance"] = json!(3.0);
    }
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,610,1220,buy\n";
    let told = |error: Box<dyn std::error::Error>| format!("seed {seed}: {error}");
    let bench = Bench::new().map_err(told)?;
    let job = job(&[glass], 1, &pieces);
    let outcome = bench
        .plan(&job, stock, &["--rounds", "8", "--seed", "1"])
        .map_err(told)?;
    if outcome.exit != Exit::Done {
        return Err(format!(
            "seed {seed}, kind {kind}, {layout}: {:?}: {}",
            outcome.exit, outcome.err
        ));
    }
    let plan = bench.checked_plan().map_err(told)?;
    if plan.figures.pieces as usize != pieces.len() {
        return Err(format!(
            "seed {seed}: {} of {} pieces",
            plan.figures.pieces,
            pieces.len()
        ));
    }
    Ok(())
}

#[test]
fn every_piece_of_random_jobs_is_freed() -> Checked {
    let count: u64 = std::env::var("CULLET_RANDOM_JOBS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(12);
    let wrong: Vec<String> = (0..count).filter_map(|seed| one(seed).err()).collect();
    assert!(wrong.is_empty(), "{} of {count}:\n{}", wrong.len(), wrong.join("\n"));
    Ok(())
}
