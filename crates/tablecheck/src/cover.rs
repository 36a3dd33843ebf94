//! Whether what is scored is what the plan breaks: each break once, near enough, and nothing else.

use crate::index::Cells;
use crate::{Fault, Mark, NEAR, Stroke, Wanted, fault};
use cullet_geometry::Point;
use cullet_job::TableFile;

/// Points of a break nearer than this are one, mm.
const SAME: f64 = 0.02;
/// A point so near to the line between its neighbours is no corner, mm.
const NO_CORNER: f64 = 0.001;
/// The sharpest corner of a flattened curve, degrees.
const FACET_DEG: f64 = 45.5;
/// What is not scored may be so much longer than it should, mm: marks lie apart.
const SLACK: f64 = 0.35;
/// Beside a score so near nothing more is scored, mm.
const BESIDE: f64 = 0.06;
/// Scores nearer than this over `DOUBLED_LENGTH` are one line scored twice, mm.
const DOUBLED: f64 = 0.012;
const DOUBLED_LENGTH: f64 = 2.5;
/// Directions that differ by less are the same, sine of the angle.
const PARALLEL: f64 = 0.1;

/// A break, with what its facets allow.
struct Chain {
    points: Vec<Point>,
    /// Distance along it of each point.
    along: Vec<f64>,
    /// How far a score may lie to the left and right of each side, mm.
    room: Vec<[f64; 2]>,
    /// What of it is scored, as distances along it.
    scored: Vec<(f64, f64)>,
}

/// Everything that is wrong with the strokes.
pub(crate) fn faults(strokes: &[Stroke], wanted: &Wanted<'_>, table: &TableFile) -> Vec<Fault> {
    let mut faults = vec![];
    let steps = &wanted.breaking.steps;
    // Where scores run on beyond the edge, the breaks do so too.
    let beyond = (-table.edge_run.unwrap_or(0.0)).max(0.0);
    let mut chains: Vec<Chain> = steps
        .iter()
        .map(|step| chain(&longer(&step.chain, beyond, wanted), wanted.facet))
        .collect();
    let mut cells = Cells::default();
    let mut sides = vec![];
    for (number, chain) in chains.iter().enumerate() {
        for (side, w) in chain.points.windows(2).enumerate() {
            cells.enter(w[0], w[1], sides.len() as u32);
            sides.push((number, side));
        }
    }
    corners_between(&mut chains, &cells, &sides, wanted.facet);
    for stroke in strokes {
        follow(stroke, &mut chains, &cells, &sides, &mut faults);
    }
    let driven = Driven::of(strokes);
    twice(&driven, &mut faults);
    left_out(&chains, &cells, &sides, &driven, wanted, table, &mut faults);
    beyond_edge(strokes, wanted, table, &mut faults);
    faults
}

/// Where on the side from `a` to `b` the point nearest to `p` lies, as a share, and how far off `p` is.
pub(crate) fn off(a: Point, b: Point, p: Point) -> (f64, f64) {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let squared = dx * dx + dy * dy;
    let share = if squared > 0.0 {
        (((p.x - a.x) * dx + (p.y - a.y) * dy) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (share, (p.x - a.x - share * dx).hypot(p.y - a.y - share * dy))
}

/// A break with its ends on the sheet's edge moved on by a run, mm.
fn longer(chain: &[Point], run: f64, wanted: &Wanted<'_>) -> Vec<Point> {
    let mut longer = chain.to_vec();
    let n = chain.len();
    for (end, inner) in [(0, 1), (n - 1, n - 2)] {
        let (p, q) = (chain[end], chain[inner]);
        let length = (p.x - q.x).hypot(p.y - q.y);
        if run > 0.0 && length > 0.0 && is_on_edge(p, wanted) {
            longer[end] = p + (p - q) * (run / length);
        }
    }
    longer
}

fn is_on_edge(p: Point, wanted: &Wanted<'_>) -> bool {
    let corners = wanted.outline.points();
    (0..corners.len()).any(|k| off(corners[k], corners[(k + 1) % corners.len()], p).1 < BESIDE)
}

fn chain(raw: &[Point], facet: f64) -> Chain {
    let mut points: Vec<Point> = vec![];
    for (k, p) in raw.iter().enumerate() {
        let Some(last) = points.last() else {
            points.push(*p);
            continue;
        };
        let is_last = k + 1 == raw.len();
        let is_near = (p.x - last.x).hypot(p.y - last.y) < SAME;
        if is_last {
            if is_near && points.len() > 1 {
                points.pop();
            }
            points.push(*p);
        } else if !is_near && off(*last, raw[k + 1], *p).1 >= NO_CORNER {
            points.push(*p);
        }
    }
    let mut along = vec![0.0];
    for w in points.windows(2) {
        along.push(along[along.len() - 1] + (w[1].x - w[0].x).hypot(w[1].y - w[0].y));
    }
    let mut room = vec![[NEAR; 2]; points.len() - 1];
    for k in 1..points.len() - 1 {
        let (a, b) = (points[k] - points[k - 1], points[k + 1] - points[k]);
        let turn = (a.x * b.y - a.y * b.x).atan2(a.x * b.x + a.y * b.y);
        if turn.abs().to_degrees() > FACET_DEG {
            continue;
        }
        // How far the corner of a facet stands out from the curve that touches both sides.
        let shorter = a.x.hypot(a.y).min(b.x.hypot(b.y));
        let height = (shorter * (turn.abs() / 4.0).tan()).min(facet);
        let inner = usize::from(turn < 0.0);
        for side in [k - 1, k] {
            room[side][inner] = room[side][inner].max(NEAR + height);
        }
    }
    Chain {
        points,
        along,
        room,
        scored: vec![],
    }
}

/// A curve may go on from one break to another that it ends on: there too the corner between two facets may be rounded off.
fn corners_between(chains: &mut [Chain], cells: &Cells, sides: &[(usize, usize)], facet: f64) {
    let mut wider: Vec<(usize, usize, usize, f64)> = vec![];
    for (number, chain) in chains.iter().enumerate() {
        let n = chain.points.len();
        for (end, inner, side) in [(0, 1, 0), (n - 1, n - 2, n - 2)] {
            let (p, out) = (chain.points[end], chain.points[inner] - chain.points[end]);
            for k in cells.round(p) {
                let (other, there) = sides[k as usize];
                let (a, b) = (chains[other].points[there], chains[other].points[there + 1]);
                if other == number || off(a, b, p).1 > BESIDE {
                    continue;
                }
                for (far, forward) in [(a, true), (b, false)] {
                    let into = p - far;
                    let turn = (into.x * out.y - into.y * out.x).atan2(into.x * out.x + into.y * out.y);
                    if turn.abs().to_degrees() > FACET_DEG {
                        continue;
                    }
                    let shorter = into.x.hypot(into.y).min(out.x.hypot(out.y));
                    let room = NEAR + (shorter * (turn.abs() / 4.0).tan()).min(facet);
                    let inner = |along: bool| usize::from((turn < 0.0) == along);
                    wider.push((number, side, inner(end == 0), room));
                    wider.push((other, there, inner(forward), room));
                }
            }
        }
    }
    for (number, side, inner, room) in wider {
        let known = &mut chains[number].room[side][inner];
        *known = known.max(room);
    }
}

/// Enters what a stroke scores with the breaks it follows: from each place on the break that goes on with it farthest.
fn follow(stroke: &Stroke, chains: &mut [Chain], cells: &Cells, sides: &[(usize, usize)], faults: &mut Vec<Fault>) {
    let marks = &stroke.marks;
    // For each mark the breaks it may belong to, and where on them.
    let near: Vec<Vec<(usize, f64)>> = (0..marks.len()).map(|k| on(marks, k, chains, cells, sides)).collect();
    let mut k = 0;
    let mut lost = false;
    while k < marks.len() {
        let reach = |number: usize| {
            (k..marks.len())
                .take_while(|m| near[*m].iter().any(|on| on.0 == number))
                .count()
        };
        let best = near[k]
            .iter()
            .map(|on| (reach(on.0), on.0))
            .max_by_key(|(count, number)| (*count, usize::MAX - number));
        let Some((count, number)) = best else {
            if !lost {
                let p = marks[k].at;
                let nearest = nearest(p, chains);
                let what = format!(
                    "a score at {:.2}, {:.2} of the sheet, {nearest:.3} mm off the nearest break",
                    p.x, p.y
                );
                faults.push(fault(marks[k].line, what));
            }
            lost = true;
            k += 1;
            continue;
        };
        lost = false;
        let places = (k..k + count).filter_map(|m| near[m].iter().find(|on| on.0 == number).map(|on| on.1));
        let (low, high) = places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), s| {
            (low.min(s), high.max(s))
        });
        chains[number].scored.push((low, high));
        // The next break takes over where this one ends.
        k += if k + count < marks.len() {
            (count - 1).max(1)
        } else {
            count
        };
    }
}

fn nearest(p: Point, chains: &[Chain]) -> f64 {
    let sides = chains.iter().flat_map(|chain| chain.points.windows(2));
    sides.map(|w| off(w[0], w[1], p).1).fold(f64::INFINITY, f64::min)
}

/// The breaks that a mark lies on, along their direction.
fn on(marks: &[Mark], k: usize, chains: &[Chain], cells: &Cells, sides: &[(usize, usize)]) -> Vec<(usize, f64)> {
    let p = marks[k].at;
    let (before, after) = (marks[k.saturating_sub(1)].at, marks[(k + 1).min(marks.len() - 1)].at);
    let way = after - before;
    let length = way.x.hypot(way.y);
    let mut found: Vec<(usize, f64, f64)> = vec![];
    for number in cells.round(p) {
        let (number, side) = sides[number as usize];
        let chain = &chains[number];
        let (a, b) = (chain.points[side], chain.points[side + 1]);
        let (share, far) = off(a, b, p);
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let left = dx * (p.y - a.y) - dy * (p.x - a.x) >= 0.0;
        if far > chain.room[side][usize::from(!left)] {
            continue;
        }
        // A run beyond the edge goes on from the end.
        let bend = (dx * way.y - dy * way.x).abs() / (dx.hypot(dy) * length.max(1e-9));
        if length > 0.05 && bend > 0.4 {
            continue;
        }
        let s = chain.along[side] + share * dx.hypot(dy);
        match found.iter_mut().find(|on| on.0 == number) {
            Some(on) if on.2 > far => *on = (number, s, far),
            Some(_) => {}
            None => found.push((number, s, far)),
        }
    }
    found.into_iter().map(|(number, s, _)| (number, s)).collect()
}

/// All that is driven, side by side.
struct Driven {
    /// From, to, stroke, distance along the stroke, line of the file.
    sides: Vec<(Point, Point, usize, f64, usize)>,
    cells: Cells,
}

impl Driven {
    fn of(strokes: &[Stroke]) -> Self {
        let mut driven = Self {
            sides: vec![],
            cells: Cells::default(),
        };
        for (number, stroke) in strokes.iter().enumerate() {
            let mut at = 0.0;
            for w in stroke.marks.windows(2) {
                let (a, b) = (w[0].at, w[1].at);
                driven.cells.enter(a, b, driven.sides.len() as u32);
                driven.sides.push((a, b, number, at, w[1].line));
                at += (b.x - a.x).hypot(b.y - a.y);
            }
        }
        driven
    }

    fn is_near(&self, p: Point, reach: f64) -> bool {
        let near = self.cells.round(p);
        near.iter()
            .any(|k| off(self.sides[*k as usize].0, self.sides[*k as usize].1, p).1 <= reach)
    }
}

/// No line is scored twice.
fn twice(driven: &Driven, faults: &mut Vec<Fault>) {
    let mut run = 0.0;
    let mut said = false;
    let mut last = (usize::MAX, 0);
    for (a, b, stroke, at, line) in &driven.sides {
        if last.0 != *stroke {
            (run, said) = (0.0, false);
        }
        last = (*stroke, *line);
        let p = (*a + *b) / 2.0;
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let doubled = driven.cells.round(p).iter().any(|k| {
            let (c, d, other, there, _) = driven.sides[*k as usize];
            let (ex, ey) = (d.x - c.x, d.y - c.y);
            let far = other != *stroke || (there - at).abs() > 2.0 * DOUBLED_LENGTH;
            far && off(c, d, p).1 <= DOUBLED && (dx * ey - dy * ex).abs() <= PARALLEL * dx.hypot(dy) * ex.hypot(ey)
        });
        run = if doubled { run + dx.hypot(dy) } else { 0.0 };
        if run > DOUBLED_LENGTH && !said {
            said = true;
            faults.push(fault(
                *line,
                format!("a line is scored twice, at {:.2}, {:.2} of the sheet", p.x, p.y),
            ));
        }
    }
}

/// Where breaks meet, as distances along each: at an end of one of them.
fn meetings(chains: &[Chain], cells: &Cells, sides: &[(usize, usize)]) -> Vec<Vec<f64>> {
    let mut meetings: Vec<Vec<f64>> = vec![vec![]; chains.len()];
    for (number, chain) in chains.iter().enumerate() {
        for end in [chain.points[0], chain.points[chain.points.len() - 1]] {
            for k in cells.round(end) {
                let (other, side) = sides[k as usize];
                let (a, b) = (chains[other].points[side], chains[other].points[side + 1]);
                let (share, far) = off(a, b, end);
                if other != number && far <= BESIDE {
                    meetings[other].push(chains[other].along[side] + share * (b.x - a.x).hypot(b.y - a.y));
                }
            }
        }
    }
    meetings
}

/// Each break is scored from end to end, but for runs at the edge and gaps where breaks meet.
fn left_out(
    chains: &[Chain],
    cells: &Cells,
    sides: &[(usize, usize)],
    driven: &Driven,
    wanted: &Wanted<'_>,
    table: &TableFile,
    faults: &mut Vec<Fault>,
) {
    let gap = table.gap.unwrap_or(1.0) + SLACK;
    let run = table.edge_run.unwrap_or(1.6).max(0.0) + SLACK;
    let on_edge = |p: Point| is_on_edge(p, wanted);
    let meetings = meetings(chains, cells, sides);
    for (number, chain) in chains.iter().enumerate() {
        let whole = chain.along[chain.along.len() - 1];
        let ends = [(0.0, chain.points[0]), (whole, chain.points[chain.points.len() - 1])];
        // Where a score lies close to the edge, or to another that is driven there, it ends a run or a gap from there.
        let beside_another = |p: Point| {
            cells.round(p).iter().any(|k| {
                let (other, side) = sides[*k as usize];
                other != number && off(chains[other].points[side], chains[other].points[side + 1], p).1 <= BESIDE
            }) && driven.is_near(p, BESIDE + wanted.facet)
        };
        let within = |s: f64, reach: f64, is: &dyn Fn(Point) -> bool| {
            let count = (reach / 0.1).ceil() as i32;
            (-count..=count).any(|k| {
                let there = s + reach * f64::from(k) / f64::from(count);
                (0.0..=whole).contains(&there) && is(chain.at(there))
            })
        };
        let allowed = |s: f64, p: Point| {
            ends.iter()
                .any(|(end, at)| (s - end).abs() <= if on_edge(*at) { run } else { gap })
                || meetings[number].iter().any(|meeting| (s - meeting).abs() <= gap)
                || driven.is_near(p, BESIDE + wanted.facet)
                || within(s, run, &on_edge)
                || within(s, gap, &beside_another)
        };
        let mut scored = chain.scored.clone();
        scored.sort_by(|a, b| a.0.total_cmp(&b.0));
        scored.push((whole, whole));
        let mut at = 0.0_f64;
        for (low, high) in scored {
            let missing = (low - at).max(0.0);
            let count = (missing / 0.1).ceil() as usize;
            let open = (1..count)
                .map(|k| at + missing * k as f64 / count as f64)
                .find(|s| !allowed(*s, chain.at(*s)));
            if let Some(s) = open {
                let p = chain.at(s);
                let what = format!(
                    "break {} is not scored over {missing:.1} of its {whole:.1} mm, at {:.2}, {:.2} of the sheet",
                    number + 1,
                    p.x,
                    p.y
                );
                faults.push(fault(0, what));
                break;
            }
            at = at.max(high);
        }
    }
}

impl Chain {
    fn at(&self, s: f64) -> Point {
        let side = self
            .along
            .partition_point(|along| *along <= s)
            .clamp(1, self.points.len() - 1)
            - 1;
        let length = self.along[side + 1] - self.along[side];
        let share = if length > 0.0 {
            (s - self.along[side]) / length
        } else {
            0.0
        };
        self.points[side] + (self.points[side + 1] - self.points[side]) * share
    }
}

/// The wheel stays on the glass but for the run beyond its edge.
fn beyond_edge(strokes: &[Stroke], wanted: &Wanted<'_>, table: &TableFile, faults: &mut Vec<Fault>) {
    let allowed = (-table.edge_run.unwrap_or(0.0)).max(0.0) + NEAR;
    let corners = wanted.outline.points();
    for stroke in strokes {
        for mark in &stroke.marks {
            let p = mark.at;
            let mut inside = false;
            let mut near = f64::INFINITY;
            for (k, a) in corners.iter().enumerate() {
                let b = corners[(k + 1) % corners.len()];
                inside ^= (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
                near = near.min(off(*a, b, p).1);
            }
            if !inside && near > allowed {
                faults.push(fault(
                    mark.line,
                    format!("the wheel runs {near:.2} mm beyond the sheet's edge"),
                ));
                break;
            }
        }
    }
}
