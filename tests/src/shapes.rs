//! Random pieces of six kinds, as path data with y up.

/// Random numbers that are the same everywhere (Knuth's MMIX multiplier).
#[derive(Debug)]
pub struct Random(pub u64);

impl Random {
    /// From 0 up to but not 1.
    #[expect(clippy::should_implement_trait, reason = "a number, never an end")]
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Between two bounds.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
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

/// A random job's pieces, 8 to 37 of them. Kinds 0 to 4: quarries, borders, rays, bevel clusters, flowing curves; 5: all of them.
#[must_use]
pub fn outlines(kind: usize, r: &mut Random) -> Vec<String> {
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
