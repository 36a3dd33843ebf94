//! A dozen invented windows of curved pieces that truly tile, each a cartoon with its job and stock: what the layouts and breaks
//! of the program are judged by.
//!
//! Every window is lead lines drawn into a frame; the seed moves them a little, so that no two pieces are equal unless the
//! window repeats them.

use crate::files;
use anyhow::{Context, Result};
use serde_json::json;
use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;
use std::path::Path;

/// Lead lines of one window.
struct Window {
    name: &'static str,
    /// Width and height, mm.
    size: (f64, f64),
    grain: &'static str,
    /// How many panels are made.
    quantity: u32,
    lines: Vec<Vec<(f64, f64)>>,
}

/// Writes a folder a window, with `cartoon.svg`, `job.json` and `stock.csv`; the same for the same seed. Returns how many.
///
/// # Errors
/// When a file cannot be written.
pub fn write(folder: &Path, seed: u64) -> Result<usize> {
    let windows = windows(seed);
    for window in &windows {
        let folder = folder.join(window.name);
        files::write(&folder.join("cartoon.svg"), &cartoon(window))?;
        let job = serde_json::to_string_pretty(&job(window)).context("a job of plain values")?;
        files::write(&folder.join("job.json"), &(job + "\n"))?;
        files::write(
            &folder.join("stock.csv"),
            "kind,tag,glass,units,width,height,count,outline\nsheet,ART,ART,mm,610,1220,buy,\nsheet,HALF,ART,mm,610,610,buy,\n\
             offcut,K1,ART,mm,,,1,0 0; 520 0; 520 300; 240 380; 0 380\n",
        )?;
    }
    Ok(windows.len())
}

fn job(window: &Window) -> serde_json::Value {
    let tolerance = if window.grain == "none" { 0.0 } else { 3.0 };
    json!({
        "format": 2, "name": format!("Window {}", window.name), "units": "mm", "y": "down",
        "glasses": [{
            "code": "ART", "name": "Art glass", "thickness": 3, "grain": window.grain, "grain_tolerance": tolerance,
            "may_turn_over": window.grain == "none", "scored_face": "show", "grind_allowance": 0.5, "edge_trim": 8,
            "price": 70, "price_unit": "m2"
        }],
        "panels": [{ "id": "A", "quantity": window.quantity, "drawing": { "file": "cartoon.svg", "glass": "ART" } }]
    })
}

/// Smooth lines through the points of each, as cubics (Catmull and Rom's tangents: a third of the way between neighbours).
fn cartoon(window: &Window) -> String {
    let (width, height) = window.size;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\">\n\
         <rect class=\"border\" width=\"{width}\" height=\"{height}\" fill=\"none\" stroke=\"black\"/>\n\
         <g fill=\"none\" stroke=\"black\">\n"
    );
    for line in &window.lines {
        let last = line.len() as isize - 1;
        let closed = f64::hypot(line[0].0 - line[last as usize].0, line[0].1 - line[last as usize].1) < 1e-6;
        let at = |i: isize| {
            let i = if closed { i.rem_euclid(last) } else { i.clamp(0, last) };
            line[i as usize]
        };
        let mut path = format!("M {:.3} {:.3}", line[0].0, line[0].1);
        for i in 0..last {
            let (p, q) = (at(i), at(i + 1));
            let tangent = |k: isize| ((at(k + 1).0 - at(k - 1).0) / 6.0, (at(k + 1).1 - at(k - 1).1) / 6.0);
            let (s, t) = (tangent(i), tangent(i + 1));
            let _ = write!(
                path,
                " C {:.3} {:.3} {:.3} {:.3} {:.3} {:.3}",
                p.0 + s.0,
                p.1 + s.1,
                q.0 - t.0,
                q.1 - t.1,
                q.0,
                q.1
            );
        }
        let _ = writeln!(svg, "<path d=\"{path}\"/>");
    }
    svg + "</g>\n</svg>\n"
}

/// Evenly spread numbers, the same for the same seed (a 64-bit mixer, Steele, Lea & Flood 2014).
struct Draw(u64);

impl Draw {
    fn within(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        low + (high - low) * ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Points of a curve given over 0 to 1.
fn traced(count: usize, at: impl Fn(f64) -> (f64, f64)) -> Vec<(f64, f64)> {
    (0..=count).map(|i| at(i as f64 / count as f64)).collect()
}

fn windows(seed: u64) -> Vec<Window> {
    let mut draw = Draw(seed);
    let mut found = vec![];
    let mut add = |name, size, grain, quantity, lines| {
        found.push(Window {
            name,
            size,
            grain,
            quantity,
            lines,
        });
    };
    add("hills", (700.0, 500.0), "none", 1, hills(&mut draw));
    add("wheel", (600.0, 600.0), "none", 1, wheel(&mut draw));
    add("petals", (500.0, 500.0), "two-ways", 1, petals(&mut draw));
    add("scales", (480.0, 640.0), "none", 1, scales(&mut draw));
    add("waves", (450.0, 750.0), "one-way", 1, waves(&mut draw));
    add("leaves", (400.0, 900.0), "none", 1, leaves(&mut draw));
    add("lattice", (520.0, 700.0), "none", 1, lattice(&mut draw));
    add("shell", (640.0, 420.0), "two-ways", 1, shell(&mut draw));
    add("moon", (560.0, 560.0), "none", 1, moon(&mut draw));
    add("ripples", (600.0, 450.0), "one-way", 1, ripples(&mut draw));
    add("feather", (360.0, 840.0), "none", 1, feather(&mut draw));
    add(
        "light",
        (240.0, 420.0),
        "none",
        12,
        lattice_of(&mut draw, (240.0, 420.0), 2, 3, 14.0),
    );
    found
}

/// Bands of a landscape, parted upright here and there.
fn hills(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let mut lines = vec![];
    let ridge: Vec<(f64, f64, f64)> = (1..7)
        .map(|k| (71.0 * f64::from(k), draw.within(12.0, 24.0), draw.within(0.0, TAU)))
        .collect();
    let height = |k: usize, x: f64| match k {
        0 => 0.0,
        7 => 500.0,
        k => ridge[k - 1].0 + ridge[k - 1].1 * (x / 110.0 + ridge[k - 1].2).sin(),
    };
    for k in 1..7 {
        lines.push(traced(24, |t| (700.0 * t, height(k, 700.0 * t))));
    }
    for k in 0..7 {
        let shift = 40.0 + 65.0 * (k % 2) as f64 + draw.within(0.0, 20.0);
        for j in 0..5 {
            let (x, lean) = (shift + 130.0 * f64::from(j), draw.within(-10.0, 10.0));
            let (foot, top) = (x + lean, x - lean);
            lines.push(traced(4, |t| {
                let x = top + (foot - top) * t;
                let (a, b) = (height(k, top), height(k + 1, foot));
                (x, a + (b - a) * t)
            }));
        }
    }
    lines
}

/// Rings about a middle, parted by spokes that lean.
fn wheel(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let middle = 300.0;
    let at = |r: f64, angle: f64| (middle + r * angle.cos(), middle + r * angle.sin());
    let mut lines = vec![];
    let radii = [50.0, 125.0, 200.0, 270.0];
    for r in radii {
        lines.push(traced(36, |t| at(r, TAU * t)));
    }
    for (ring, spokes) in [(0, 6), (1, 10), (2, 14)] {
        let (from, to) = (radii[ring], radii[ring + 1]);
        let shift = draw.within(0.0, 1.0);
        for k in 0..spokes {
            let angle = TAU * (f64::from(k) + shift) / f64::from(spokes);
            let lean = draw.within(0.05, 0.18);
            lines.push(traced(6, |t| at(from + (to - from) * t, angle + lean * t * t)));
        }
    }
    for (x, y) in [(0.0, 0.0), (600.0, 0.0), (600.0, 600.0), (0.0, 600.0)] {
        let angle = f64::atan2(y - middle, x - middle);
        let (sx, sy) = at(270.0, angle);
        lines.push(vec![(sx, sy), (x, y)]);
    }
    lines
}

/// Petals about a middle, parted at their backs, in a frame of quarters.
fn petals(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let middle = 250.0;
    let at = |r: f64, angle: f64| (middle + r * angle.cos(), middle + r * angle.sin());
    let (count, bow, turn) = (9, draw.within(0.20, 0.27), draw.within(0.0, 0.5));
    let mut lines: Vec<Vec<(f64, f64)>> = [36.0, 115.0, 215.0]
        .into_iter()
        .map(|r| traced(36, |t| at(r, TAU * t)))
        .collect();
    // Bowed from the heart out to the ring.
    let rib = |from: f64, angle: f64| {
        traced(12, |t| {
            let r = from + (215.0 - from) * t;
            at(r, angle + bow * (PI * (r - 36.0) / 179.0).sin())
        })
    };
    for k in 0..count {
        let angle = TAU * (f64::from(k) + turn) / f64::from(count);
        lines.push(rib(36.0, angle));
        lines.push(rib(115.0, angle + PI / f64::from(count)));
    }
    for k in 0..4 {
        let angle = PI / 4.0 + PI / 2.0 * f64::from(k);
        let corner = (
            middle + 250.0 * angle.cos().signum(),
            middle + 250.0 * angle.sin().signum(),
        );
        lines.push(vec![at(215.0, angle), corner]);
    }
    lines
}

/// Rows of scales: bows whose ends stand on the crowns of the row above.
fn scales(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let wide = 96.0;
    let mut lines = vec![];
    let (mut y, mut row) = (-20.0, 0);
    while y < 600.0 {
        let deep = draw.within(38.0, 44.0);
        let shift = if row % 2 == 0 { 0.0 } else { -wide / 2.0 };
        for k in 0..6 {
            let x = shift + wide * f64::from(k);
            let bow = traced(16, |t| (x + wide * t, y + deep * (1.0 - (2.0 * t - 1.0).powi(2))));
            let line = clipped(&bow, (480.0, 640.0));
            if line.len() > 2 {
                lines.push(line);
            }
        }
        y += deep;
        row += 1;
    }
    lines
}

/// Upright waves side by side, parted across.
fn waves(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let swing: Vec<(f64, f64)> = (0..4)
        .map(|_| (draw.within(10.0, 22.0), draw.within(0.0, TAU)))
        .collect();
    let side = |k: usize, y: f64| match k {
        0 => 0.0,
        5 => 450.0,
        k => 90.0 * k as f64 + swing[k - 1].0 * (y / 95.0 + swing[k - 1].1).sin(),
    };
    let mut lines: Vec<Vec<(f64, f64)>> = (1..5)
        .map(|k| traced(26, |t| (side(k, 750.0 * t), 750.0 * t)))
        .collect();
    for k in 0..5 {
        let shift = draw.within(50.0, 110.0);
        for j in 0..6 {
            let (y, rise) = (shift + 112.0 * f64::from(j), draw.within(-16.0, 16.0));
            let bow = draw.within(-8.0, 8.0);
            lines.push(traced(5, |t| {
                let at = y + rise * t + bow * (PI * t).sin();
                let (a, b) = (side(k, y), side(k + 1, y + rise));
                (a + (b - a) * t, at)
            }));
        }
    }
    lines
}

/// A stem with leaves to both sides and the field between them.
fn leaves(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let stem = |y: f64| 200.0 + 18.0 * (y / 140.0).sin();
    let mut lines = vec![traced(28, |t| (stem(900.0 * t), 900.0 * t))];
    for k in 0..6 {
        let foot = 120.0 + 140.0 * f64::from(k);
        for side in [-1.0, 1.0] {
            let y = foot + if side > 0.0 { 62.0 } else { 0.0 };
            let (length, rise) = (draw.within(120.0, 145.0), draw.within(60.0, 85.0));
            let (x0, tip) = (stem(y), (stem(y) + side * length, y - rise));
            let bow = draw.within(20.0, 30.0);
            let edge = |up: f64| {
                traced(10, |t| {
                    let (x, z) = (x0 + (tip.0 - x0) * t, y + (tip.1 - y) * t);
                    let n = f64::hypot(tip.0 - x0, tip.1 - y);
                    let swell = up * bow * (PI * t).sin();
                    (x - swell * (tip.1 - y) / n, z + swell * (tip.0 - x0) / n)
                })
            };
            lines.push(edge(1.0));
            lines.push(edge(-1.0));
            // From the tip to the frame.
            let end = if side > 0.0 { 400.0 } else { 0.0 };
            lines.push(vec![tip, (end, tip.1 - draw.within(5.0, 25.0))]);
        }
    }
    lines
}

fn lattice(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    lattice_of(draw, (520.0, 700.0), 4, 5, 18.0)
}

/// Two families of waving lines across each other.
fn lattice_of(draw: &mut Draw, (wide, high): (f64, f64), across: u32, up: u32, swing: f64) -> Vec<Vec<(f64, f64)>> {
    let mut lines = vec![];
    for k in 1..=across {
        let (x, from) = (wide * f64::from(k) / f64::from(across + 1), draw.within(0.0, TAU));
        lines.push(traced(24, |t| (x + swing * (TAU * 1.5 * t + from).sin(), high * t)));
    }
    for k in 1..=up {
        let (y, from) = (high * f64::from(k) / f64::from(up + 1), draw.within(0.0, TAU));
        lines.push(traced(24, |t| {
            (wide * t, y + 0.8 * swing * (TAU * 1.5 * t + from).sin())
        }));
    }
    lines
}

/// A fan of ribs from the foot, crossed by bows.
fn shell(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let foot = (320.0, 430.0);
    let at = |r: f64, angle: f64| (foot.0 + r * angle.cos(), foot.1 - r * angle.sin());
    let inside = |line: Vec<(f64, f64)>| -> Vec<(f64, f64)> {
        let kept = line
            .into_iter()
            .filter(|(x, y)| (-30.0..670.0).contains(x) && (-30.0..450.0).contains(y));
        kept.collect()
    };
    let mut lines = vec![];
    for r in [120.0, 215.0, 300.0] {
        let r = r + draw.within(-8.0, 8.0);
        lines.push(inside(traced(40, |t| at(r, PI * t))));
    }
    for k in 1..9 {
        let angle = PI * f64::from(k) / 9.0 + draw.within(-0.04, 0.04);
        let bow = draw.within(-0.06, 0.06);
        lines.push(inside(traced(16, |t| {
            at(52.0 + 468.0 * t, angle + bow * (PI * t).sin())
        })));
    }
    lines.push(inside(traced(20, |t| at(52.0, PI * t))));
    lines
        .into_iter()
        .map(|line| clipped(&line, (640.0, 420.0)))
        .filter(|line| line.len() > 1)
        .collect()
}

/// The part of a line inside the frame, its ends brought onto it.
fn clipped(line: &[(f64, f64)], (wide, high): (f64, f64)) -> Vec<(f64, f64)> {
    let inside = |p: &(f64, f64)| (0.0..=wide).contains(&p.0) && (0.0..=high).contains(&p.1);
    let cross = |a: (f64, f64), b: (f64, f64)| {
        // From the inner point a to the outer point b, as far as the frame.
        let share = |from: f64, to: f64, least: f64, most: f64| {
            if to < least {
                (from - least) / (from - to)
            } else if to > most {
                (most - from) / (to - from)
            } else {
                1.0
            }
        };
        let t = share(a.0, b.0, 0.0, wide).min(share(a.1, b.1, 0.0, high));
        (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
    };
    let Some(first) = line.iter().position(inside) else {
        return vec![];
    };
    let count = line[first..].iter().take_while(|p| inside(p)).count();
    let mut kept = line[first..first + count].to_vec();
    if first > 0 {
        kept.insert(0, cross(line[first], line[first - 1]));
    }
    if let Some(next) = line.get(first + count) {
        kept.push(cross(line[first + count - 1], *next));
    }
    kept
}

/// A disc behind bands of cloud.
fn moon(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let (middle, radius) = ((280.0, 250.0), 130.0);
    let mut lines = vec![traced(40, |t| {
        (middle.0 + radius * (TAU * t).cos(), middle.1 + radius * (TAU * t).sin())
    })];
    for k in 1..7 {
        let y = 80.0 * f64::from(k);
        let (swing, from) = (draw.within(8.0, 14.0), draw.within(0.0, TAU));
        lines.push(traced(20, |t| (560.0 * t, y + swing * (TAU * t + from).sin())));
    }
    for k in 0..2 {
        let x = 90.0 + 380.0 * f64::from(k) + draw.within(-15.0, 15.0);
        let bow = draw.within(-14.0, 14.0);
        lines.push(traced(14, |t| (x + bow * (PI * t).sin(), 560.0 * t)));
    }
    lines
}

/// Bows about a place outside the frame, parted along rays.
fn ripples(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let at = |r: f64, angle: f64| (-100.0 + r * angle.cos(), -100.0 + r * angle.sin());
    let mut lines = vec![];
    for k in 0..7 {
        let r = 250.0 + 85.0 * f64::from(k) + draw.within(-7.0, 7.0);
        let line = traced(60, |t| at(r, PI / 2.0 * t));
        if k == 0 {
            for j in 1..6 {
                let angle = (8.0 + 12.5 * f64::from(j) + draw.within(-2.0, 2.0)).to_radians();
                let bow = draw.within(-0.05, 0.05);
                lines.push(traced(40, |t| at(r + (900.0 - r) * t, angle + bow * (PI * t).sin())));
            }
        }
        lines.push(line);
    }
    lines
        .into_iter()
        .map(|line| clipped(&line, (600.0, 450.0)))
        .filter(|line| line.len() > 1)
        .collect()
}

/// A quill with bowed barbs.
fn feather(draw: &mut Draw) -> Vec<Vec<(f64, f64)>> {
    let quill = |y: f64| 180.0 + 12.0 * (y / 150.0).sin();
    let mut lines = vec![traced(28, |t| (quill(840.0 * t), 840.0 * t))];
    for k in 1..11 {
        let y = 78.0 * f64::from(k) + draw.within(-6.0, 6.0);
        for (end, sag) in [(0.0, draw.within(20.0, 34.0)), (360.0, draw.within(20.0, 34.0))] {
            let rise = draw.within(52.0, 66.0);
            let x0 = quill(y);
            lines.push(traced(8, |t| {
                (x0 + (end - x0) * t, y - rise * t + sag * (PI * t).sin())
            }));
        }
    }
    lines.into_iter().map(|line| clipped(&line, (360.0, 840.0))).collect()
}
