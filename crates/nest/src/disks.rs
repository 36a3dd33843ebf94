//! Disks inscribed in an outline, largest first, that together fill most of it.
//!
//! The overlap of two outlines is judged by how deep their disks sink into each other: cheap, smooth, and large where a
//! lot of glass overlaps. (Idea of inscribed circles as an overlap measure: Imamichi & Nagamochi 2007 for balls;
//! Gardeyn et al. 2025 for poles of inaccessibility.)

use cullet_geometry::Point;

/// A disk in the frame of its outline, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Disk {
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) r: f64,
}

/// No more disks than this for one outline.
const MOST: usize = 16;
/// Enough when so much of the area is covered.
const COVERED: f64 = 0.92;
/// A disk smaller than this share of the first one says nothing.
const SMALLEST: f64 = 0.06;
/// Points of the sampling grid along the longer side of the bounds.
const GRID: usize = 56;

/// Disks inside the polygon `points`, not overlapping each other, largest first; at least one.
pub(crate) fn inscribed(points: &[Point], area: f64) -> Vec<Disk> {
    let grid = inner_points(points);
    let mut room: Vec<f64> = grid.iter().map(|p| depth(points, *p)).collect();
    let mut disks: Vec<Disk> = Vec::new();
    let mut covered = 0.0;
    while disks.len() < MOST && covered < COVERED * area {
        let Some(best) = (0..grid.len()).max_by(|a, b| room[*a].total_cmp(&room[*b])) else {
            break;
        };
        let disk = climb(points, &disks, grid[best], room[best]);
        if disk.r <= 0.0 || disks.first().is_some_and(|first| disk.r < SMALLEST * first.r) {
            break;
        }
        covered += std::f64::consts::PI * disk.r * disk.r;
        disks.push(disk);
        for (p, room) in grid.iter().zip(&mut room) {
            *room = room.min((p.x - disk.x).hypot(p.y - disk.y) - disk.r);
        }
    }
    if disks.is_empty() {
        // A polygon too thin for the grid: a small disk at the middle of its first ear is better than none.
        let p = points[0];
        disks.push(Disk { x: p.x, y: p.y, r: 0.0 });
    }
    disks
}

/// Grid points inside the polygon.
fn inner_points(points: &[Point]) -> Vec<Point> {
    let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    for p in points {
        (x0, y0) = (x0.min(p.x), y0.min(p.y));
        (x1, y1) = (x1.max(p.x), y1.max(p.y));
    }
    let short = (x1 - x0).min(y1 - y0);
    let step = ((x1 - x0).max(y1 - y0) / GRID as f64)
        .min(short / 8.0)
        .max((x1 - x0).max(y1 - y0) / 400.0);
    let mut inside = Vec::new();
    let mut y = y0 + step / 2.0;
    while y < y1 {
        let mut x = x0 + step / 2.0;
        while x < x1 {
            let p = Point { x, y };
            if contains(points, p) {
                inside.push(p);
            }
            x += step;
        }
        y += step;
    }
    inside
}

/// Moves a disk's centre uphill until it cannot grow.
fn climb(points: &[Point], disks: &[Disk], start: Point, room: f64) -> Disk {
    let free = |p: Point| {
        let edge = if contains(points, p) {
            depth(points, p)
        } else {
            -depth(points, p)
        };
        disks
            .iter()
            .fold(edge, |r, d| r.min((p.x - d.x).hypot(p.y - d.y) - d.r))
    };
    let (mut at, mut r, mut step) = (start, room, room / 2.0);
    while step > room * 1e-3 {
        let tries = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)];
        let next = tries
            .map(|(dx, dy)| Point {
                x: at.x + dx,
                y: at.y + dy,
            })
            .map(|p| (free(p), p))
            .into_iter()
            .max_by(|a, b| a.0.total_cmp(&b.0));
        match next {
            Some((grown, p)) if grown > r => (at, r) = (p, grown),
            _ => step /= 2.0,
        }
    }
    Disk { x: at.x, y: at.y, r }
}

/// Distance from `p` to the polygon's boundary.
fn depth(points: &[Point], p: Point) -> f64 {
    let mut least = f64::MAX;
    let mut a = points[points.len() - 1];
    for b in points {
        let (ex, ey) = (b.x - a.x, b.y - a.y);
        let along = ((p.x - a.x) * ex + (p.y - a.y) * ey) / (ex * ex + ey * ey);
        let t = along.clamp(0.0, 1.0);
        least = least.min((p.x - a.x - t * ex).powi(2) + (p.y - a.y - t * ey).powi(2));
        a = *b;
    }
    least.sqrt()
}

/// Whether `p` lies inside the polygon (even-odd).
pub(crate) fn contains(points: &[Point], p: Point) -> bool {
    let mut inside = false;
    let mut a = points[points.len() - 1];
    for b in points {
        if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
            inside = !inside;
        }
        a = *b;
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|(x, y)| Point { x: *x, y: *y }).collect()
    }

    #[test]
    fn the_first_disk_of_a_triangle_is_its_incircle() {
        // Incircle of a 3-4-5 triangle: r = area / half the perimeter = 6 / 6 = 1.
        let disks = inscribed(&points(&[(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)]), 6.0);
        assert!((disks[0].r - 1.0).abs() < 2e-3, "{disks:?}");
    }

    #[test]
    fn disks_stay_inside_and_apart() {
        let l = points(&[
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 3.0),
            (3.0, 3.0),
            (3.0, 10.0),
            (0.0, 10.0),
        ]);
        let disks = inscribed(&l, 51.0);
        assert!(disks.len() > 4);
        for (i, d) in disks.iter().enumerate() {
            let centre = Point { x: d.x, y: d.y };
            assert!(contains(&l, centre) && depth(&l, centre) >= d.r - 1e-9);
            for e in &disks[..i] {
                assert!((d.x - e.x).hypot(d.y - e.y) >= d.r + e.r - 1e-9);
            }
        }
    }
}
