//! What is laid: sets that are known to come from one sheet, made by cutting it at random.

use cullet_geometry::{Outline, Point, run::cut_by_line};
use rand_core::{RngCore, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Width and height of the sheets that are cut up, mm.
pub const SHEET: (f64, f64) = (1220.0, 1840.0);

/// To the nearest multiple of `step`, or as it is where that is 0.
fn rounded(value: f64, step: f64) -> f64 {
    if step > 0.0 {
        (value / step).round() * step
    } else {
        value
    }
}

/// Uniform in `[0, 1)`.
fn unit(random: &mut Xoshiro256PlusPlus) -> f64 {
    (random.next_u64() >> 11) as f64 * (1.0 / (1u64 << 53) as f64)
}

/// 20 to 60 rectangles that together are the sheet, by right-angled cuts from edge to edge; sizes are multiples of `step`, or of nothing where
/// that is 0.
#[must_use]
pub fn rectangles(seed: u64, step: f64) -> Vec<Outline> {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let wanted = 20 + (unit(&mut random) * 41.0) as usize;
    let mut parts = vec![SHEET];
    while parts.len() < wanted {
        let k = drawn_by_area(&mut random, parts.iter().map(|(w, h)| w * h));
        let (w, h) = parts.swap_remove(k);
        let across = unit(&mut random) * (w + h) < w;
        let long = if across { w } else { h };
        let at = rounded((0.2 + 0.6 * unit(&mut random)) * long, step);
        if at <= 0.0 || at >= long {
            parts.push((w, h));
        } else if across {
            parts.extend([(at, h), (w - at, h)]);
        } else {
            parts.extend([(w, at), (w, h - at)]);
        }
    }
    parts.into_iter().map(|(w, h)| Outline::rectangle(w, h)).collect()
}

/// 15 to 30 convex pieces that together are the sheet, by cuts at any angle from edge to edge; each is turned at random and its
/// corners are rounded to multiples of `step`, or not where that is 0.
#[must_use]
pub fn convex(seed: u64, step: f64) -> Vec<Outline> {
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed);
    let wanted = 15 + (unit(&mut random) * 16.0) as usize;
    in_place(wanted, &mut random)
        .into_iter()
        .map(|part| turned_at_random(&part, step, &mut random).unwrap_or(part))
        .collect()
}

/// So many convex pieces where they lie on the sheet.
#[must_use]
pub fn convex_in_place(seed: u64, wanted: usize) -> Vec<Outline> {
    in_place(wanted, &mut Xoshiro256PlusPlus::seed_from_u64(seed))
}

fn in_place(wanted: usize, random: &mut Xoshiro256PlusPlus) -> Vec<Outline> {
    let mut parts = vec![Outline::rectangle(SHEET.0, SHEET.1)];
    while parts.len() < wanted {
        let k = drawn_by_area(random, parts.iter().map(Outline::area));
        let part = parts.swap_remove(k);
        let n = part.points().len() as f64;
        let middle = part
            .points()
            .iter()
            .fold(Point { x: 0.0, y: 0.0 }, |sum, p| sum + *p / n);
        let corner = part.points()[((unit(random) * n) as usize).min(part.points().len() - 1)];
        let through = middle + (corner - middle) * (0.4 * unit(random));
        let (left, right) = cut_by_line(&part, through, 360.0 * unit(random));
        let fine = |o: &Outline| o.area() > 0.2 * part.area() && sharpest_deg(o) >= 20.0;
        match (&left[..], &right[..]) {
            ([a], [b]) if fine(a) && fine(b) => parts.extend([a.clone(), b.clone()]),
            _ => parts.push(part),
        }
    }
    parts
}

/// Turned so that nothing is given away by how it lies.
fn turned_at_random(part: &Outline, step: f64, random: &mut Xoshiro256PlusPlus) -> Option<Outline> {
    let pose = cullet_geometry::Pose {
        rotation_deg: 360.0 * unit(random),
        ..cullet_geometry::Pose::IDENTITY
    };
    let points = part
        .posed(&pose)
        .points()
        .iter()
        .map(|p| Point {
            x: rounded(p.x, step),
            y: rounded(p.y, step),
        })
        .collect();
    Outline::new(points).ok()
}

fn drawn_by_area(random: &mut Xoshiro256PlusPlus, areas: impl Iterator<Item = f64>) -> usize {
    let areas: Vec<f64> = areas.collect();
    let mut at = unit(random) * areas.iter().sum::<f64>();
    for (k, area) in areas.iter().enumerate() {
        at -= area;
        if at < 0.0 {
            return k;
        }
    }
    areas.len() - 1
}

fn sharpest_deg(outline: &Outline) -> f64 {
    let p = outline.points();
    let n = p.len();
    (0..n)
        .map(|i| {
            let (a, b) = (p[(i + n - 1) % n] - p[i], p[(i + 1) % n] - p[i]);
            ((a.x * b.x + a.y * b.y) / (a.x.hypot(a.y) * b.x.hypot(b.y)))
                .acos()
                .to_degrees()
        })
        .fold(180.0, f64::min)
}
