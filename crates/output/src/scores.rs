//! The score lines of one layout alone, for a cutting table.
//!
//! # What is in the file
//! True size (width and height in mm, 1 unit of the viewBox is 1 mm, y down), as large as the box round the sheet, no
//! margin and no words. Group `sheet` holds the sheet's outline to register by; `scores-pieces` one closed path for each
//! piece's cut outline, `scores-runs` one path for each straight run from edge to edge of the glass in hand, `scores-relief` one for
//! each further stretch that only opens waste, in the order they are broken. No score is written twice.
//!
//! # Which face
//! The file is seen from the **scored face**. Where that is not the show face the layout is the mirror image of the sheet
//! map (x → width − x). The file says which in its description and in `data-face` (`show` or `back`).

use crate::drawing::{View, element, file, group, push, set, worded};
use crate::lines::sides;
use crate::number::plain;
use crate::source::{map_count, placed, scored_on_show_face};
use cullet_geometry::{Outline, Point};
use cullet_plan::model::{Layout, Plan};
use svg::node::element::Element;

/// Two lines this near are one, mm: ten steps of the grid that outlines are worked out on.
const SAME_LINE: f64 = 1e-3;

/// Decimals of a coordinate, so that an area read back is the outline's to 1e-3 mm² for a piece of any size.
const DECIMALS: usize = 6;

/// Width of a drawn score, mm; a score has none.
const HAIR: &str = "0.1";

/// The file with the score lines of one layout.
///
/// Where pieces lie against each other without clearance their common side is in the outline of both.
/// A run is written once, where two returned offcuts lie on both sides of it.
#[must_use]
pub fn draw(plan: &Plan, layout: &Layout) -> String {
    let outline = &layout.stock.outline;
    let bounds = outline.bounds();
    let on_show_face = scored_on_show_face(plan, layout);
    let (view, face, words) = if on_show_face {
        (
            View::from_front(bounds),
            "show",
            "Seen from the scored face, which is the show face: the sheet lies show face up, as on the sheet map.",
        )
    } else {
        (
            View::from_behind(bounds),
            "back",
            "Seen from the scored face, which is the back: the sheet lies show face down, and the layout is the mirror \
             image of the sheet map, left and right exchanged.",
        )
    };
    let (width, height) = (plain(bounds.width(), DECIMALS), plain(bounds.height(), DECIMALS));
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", &format!("{width}mm")),
            ("height", &format!("{height}mm")),
            ("viewBox", &format!("0 0 {width} {height}")),
            ("data-face", face),
        ],
    );
    let count = map_count(plan);
    let name = format!(
        "{}: scores of sheet map {} of {count}, {face} face up",
        plan.job.name, layout.number
    );
    push(&mut root, worded("title", &name));
    push(
        &mut root,
        worded(
            "desc",
            &format!("{words} True size, 1 unit = 1 mm. Edges of cut glass are sharp."),
        ),
    );

    let mut sheet = lines("sheet", "Outline of the sheet, to register by: no score", face);
    push(&mut sheet, path(&view, outline.points(), true));
    let mut pieces = lines("scores-pieces", "Scores round the pieces: their cut outlines", face);
    for (i, piece) in placed(plan, layout).iter().enumerate() {
        let mut score = path(&view, piece.cut.points(), true);
        set(&mut score, "id", &format!("score-piece-{}", i + 1));
        push(&mut score, worded("title", &piece.words()));
        push(&mut pieces, score);
    }
    let mut runs = lines("scores-runs", "Straight runs that free the returned offcuts", face);
    let free = free_runs(outline, &layout.returned);
    let cut: Vec<Outline> = placed(plan, layout).into_iter().map(|p| p.cut).collect();
    let (straight, relief) = waste_scores(layout, &cut, &free);
    for (i, run) in free.iter().chain(&straight).enumerate() {
        let mut score = path(&view, &run.points, run.closed);
        set(&mut score, "id", &format!("score-run-{}", i + 1));
        push(&mut runs, score);
    }
    let mut reliefs = lines("scores-relief", "Relief scores that open the waste", face);
    for (i, run) in relief.iter().enumerate() {
        let mut score = path(&view, &run.points, run.closed);
        set(&mut score, "id", &format!("score-relief-{}", i + 1));
        push(&mut reliefs, score);
    }
    for part in [sheet, pieces, runs, reliefs] {
        push(&mut root, part);
    }
    file(&root)
}

fn lines(id: &str, title: &str, face: &str) -> Element {
    let mut group = group(id, title, "");
    for (key, value) in [
        ("data-face", face),
        ("fill", "none"),
        ("stroke", "#000"),
        ("stroke-width", HAIR),
    ] {
        set(&mut group, key, value);
    }
    group
}

fn path(view: &View, points: &[Point], closed: bool) -> Element {
    element("path", &[("d", &view.path(points, closed, DECIMALS))])
}

/// A chain of scores that frees a returned offcut.
#[derive(Debug, Clone, PartialEq)]
struct Run {
    points: Vec<Point>,
    closed: bool,
}

/// What the breaks open besides the pieces' outlines and the runs known: straight runs, and relief scores.
fn waste_scores(layout: &Layout, cut: &[Outline], free: &[Run]) -> (Vec<Run>, Vec<Run>) {
    let mut known: Vec<[Point; 2]> = sides(&layout.stock.outline).chain(cut.iter().flat_map(sides)).collect();
    known.extend(free.iter().flat_map(|run| run.points.windows(2).map(|w| [w[0], w[1]])));
    let (mut straight, mut relief) = (Vec::new(), Vec::new());
    for step in &layout.breaking.steps {
        let mut new: Vec<[Point; 2]> = Vec::new();
        for w in step.chain.windows(2) {
            let (low, high) = (
                Point {
                    x: w[0].x.min(w[1].x) - SAME_LINE,
                    y: w[0].y.min(w[1].y) - SAME_LINE,
                },
                Point {
                    x: w[0].x.max(w[1].x) + SAME_LINE,
                    y: w[0].y.max(w[1].y) + SAME_LINE,
                },
            );
            let near: Vec<[Point; 2]> = known
                .iter()
                .filter(|[a, b]| {
                    a.x.max(b.x) >= low.x && a.x.min(b.x) <= high.x && a.y.max(b.y) >= low.y && a.y.min(b.y) <= high.y
                })
                .copied()
                .collect();
            new.extend(uncovered([w[0], w[1]], &near));
        }
        known.extend(new.iter().copied());
        let scores = if step.chain.len() == 2 {
            &mut straight
        } else {
            &mut relief
        };
        scores.extend(joined(&new));
    }
    (straight, relief)
}

/// The sides of the returned offcuts that are not the sheet's own edge and not scored already, joined to chains.
fn free_runs(sheet: &Outline, returned: &[Outline]) -> Vec<Run> {
    let mut known: Vec<[Point; 2]> = sides(sheet).collect();
    let mut runs = Vec::new();
    for outline in returned {
        let mut chain: Vec<[Point; 2]> = Vec::new();
        for side in sides(outline) {
            chain.extend(uncovered(side, &known));
        }
        known.extend(chain.iter().copied());
        runs.extend(joined(&chain));
    }
    runs
}

/// The parts of a side that lie on none of the known lines.
fn uncovered(side: [Point; 2], known: &[[Point; 2]]) -> Vec<[Point; 2]> {
    let [a, b] = side;
    let length = (b.x - a.x).hypot(b.y - a.y);
    if length <= SAME_LINE {
        return Vec::new();
    }
    let along = Point {
        x: (b.x - a.x) / length,
        y: (b.y - a.y) / length,
    };
    let place = |p: Point| {
        let from = p - a;
        (from.x * along.x + from.y * along.y, from.x * along.y - from.y * along.x)
    };
    let mut open: Vec<(f64, f64)> = vec![(0.0, length)];
    for [c, d] in known {
        let ((c_along, c_off), (d_along, d_off)) = (place(*c), place(*d));
        let (low, high) = (c_along.min(d_along), c_along.max(d_along));
        // Where the known line runs past this side its distance there counts, not that of its far ends.
        let off_at = |t: f64| {
            let span = d_along - c_along;
            if span.abs() <= SAME_LINE {
                f64::INFINITY
            } else {
                c_off + (d_off - c_off) * (t - c_along) / span
            }
        };
        let (from, to) = (low.max(0.0), high.min(length));
        if to - from <= SAME_LINE || off_at(from).abs() > SAME_LINE || off_at(to).abs() > SAME_LINE {
            continue;
        }
        open = open
            .into_iter()
            .flat_map(|(start, end)| [(start, end.min(from)), (start.max(to), end)])
            .filter(|(start, end)| end - start > SAME_LINE)
            .collect();
    }
    let at = |t: f64| Point {
        x: a.x + along.x * t,
        y: a.y + along.y * t,
    };
    open.into_iter()
        .map(|(start, end)| {
            [
                if start == 0.0 { a } else { at(start) },
                if end == length { b } else { at(end) },
            ]
        })
        .collect()
}

/// Sides in order, joined where one ends as the next begins; points on a straight run are dropped.
fn joined(chain: &[[Point; 2]]) -> Vec<Run> {
    let near = |a: Point, b: Point| (a.x - b.x).hypot(a.y - b.y) <= SAME_LINE;
    let mut runs: Vec<Vec<Point>> = Vec::new();
    for [a, b] in chain {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|end| near(*end, *a)) => run.push(*b),
            _ => runs.push(vec![*a, *b]),
        }
    }
    // The list of sides may begin in the middle of a run.
    if runs.len() > 1
        && runs
            .last()
            .and_then(|r| r.last())
            .is_some_and(|end| near(*end, runs[0][0]))
    {
        let first = runs.remove(0);
        if let Some(last) = runs.last_mut() {
            last.extend(first.into_iter().skip(1));
        }
    }
    runs.into_iter().map(|points| straightened(&points)).collect()
}

fn straightened(points: &[Point]) -> Run {
    let mut kept: Vec<Point> = Vec::new();
    for (i, p) in points.iter().enumerate() {
        if let (Some(before), Some(after)) = (kept.last(), points.get(i + 1)) {
            let cross = (p.x - before.x) * (after.y - before.y) - (p.y - before.y) * (after.x - before.x);
            let length = (after.x - before.x).hypot(after.y - before.y);
            if cross.abs() <= SAME_LINE * length {
                continue;
            }
        }
        kept.push(*p);
    }
    let closed =
        kept.len() > 3 && (kept[0].x - kept[kept.len() - 1].x).hypot(kept[0].y - kept[kept.len() - 1].y) <= SAME_LINE;
    if closed {
        kept.pop();
    }
    Run { points: kept, closed }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, outline, varied};
    use cullet_job::{FaceFile, GrainFile};
    use proptest::prelude::*;
    use svgtypes::SimplePathSegment as Segment;

    /// The paths of a group, read back: points in the file's frame, and whether they close.
    fn read(text: &str, id: &str) -> Vec<(Vec<(f64, f64)>, bool)> {
        let file = roxmltree::Document::parse(text).unwrap();
        let group = file.descendants().find(|n| n.attribute("id") == Some(id)).unwrap();
        let paths = group.descendants().filter_map(|n| n.attribute("d"));
        paths
            .map(|data| {
                let (mut points, mut closed) = (Vec::new(), false);
                for segment in svgtypes::SimplifyingPathParser::from(data) {
                    match segment.unwrap() {
                        Segment::MoveTo { x, y } | Segment::LineTo { x, y } => points.push((x, y)),
                        Segment::ClosePath => closed = true,
                        other => panic!("{other:?}"),
                    }
                }
                (points, closed)
            })
            .collect()
    }

    fn area(points: &[(f64, f64)]) -> f64 {
        let next = points.iter().cycle().skip(1);
        points.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>() / 2.0
    }

    /// Every piece's path has its cut outline's area and lies where the layout says, mirrored where seen from behind.
    fn check(plan: &Plan, behind: bool) {
        for layout in plan.glasses.iter().flat_map(|g| &g.layouts) {
            let text = draw(plan, layout);
            let bounds = layout.stock.outline.bounds();
            let paths = read(&text, "scores-pieces");
            assert_eq!(paths.len(), layout.placements.len());
            for ((points, closed), piece) in paths.iter().zip(placed(plan, layout)) {
                assert!(closed);
                let size = area(points);
                assert!(
                    (size.abs() - piece.cut.area()).abs() < 1e-3,
                    "{size} {}",
                    piece.cut.area()
                );
                // Turning y over turns the sense once, looking from behind once more.
                assert_eq!(size > 0.0, behind);
                for ((x, y), p) in points.iter().zip(piece.cut.points()) {
                    let (across, up) = if behind { (bounds.max.x - p.x, p.y) } else { (p.x, p.y) };
                    assert!((x - across).abs() < 1e-4 && (bounds.height() - y - up).abs() < 1e-4);
                }
            }
            assert!(!text.contains("<text"));
            assert_eq!(text.contains("data-face=\"back\""), behind);
            assert_eq!(text.contains("mirror image"), behind);
        }
    }

    #[test]
    fn scores_have_the_cut_outlines_area_and_pose() {
        check(&varied(GrainFile::OneWay, FaceFile::Show), false);
        check(&varied(GrainFile::OneWay, FaceFile::Back), true);
    }

    #[test]
    fn a_returned_offcut_is_freed_by_the_run_that_is_not_the_sheets_edge() {
        let plan = varied(GrainFile::None, FaceFile::Show);
        let text = draw(&plan, &plan.glasses[0].layouts[0]);
        assert_eq!(
            read(&text, "scores-runs"),
            [(vec![(0.0, 720.0), (610.0, 720.0)], false)]
        );
        let behind = varied(GrainFile::None, FaceFile::Back);
        let text = draw(&behind, &behind.glasses[0].layouts[0]);
        assert_eq!(
            read(&text, "scores-runs"),
            [(vec![(610.0, 720.0), (0.0, 720.0)], false)]
        );
    }

    #[test]
    fn no_run_is_written_twice() {
        // Left half kept, and of the right half the upper part: its left side is the first run.
        let left = outline(&[(0.0, 0.0), (500.0, 0.0), (500.0, 800.0), (0.0, 800.0)]);
        let right = outline(&[(500.0, 400.0), (1000.0, 400.0), (1000.0, 800.0), (500.0, 800.0)]);
        let runs = free_runs(&Outline::rectangle(1000.0, 800.0), &[left, right]);
        let p = |x, y| Point { x, y };
        let open = |points| Run { points, closed: false };
        assert_eq!(
            runs,
            [
                open(vec![p(500.0, 0.0), p(500.0, 800.0)]),
                open(vec![p(500.0, 400.0), p(1000.0, 400.0)])
            ]
        );
    }

    #[test]
    fn only_the_new_part_of_a_known_line_is_scored() {
        let p = |x, y| Point { x, y };
        let known = [
            [p(20.0, 0.0), p(60.0, 0.0)],
            [p(90.0, 0.0), p(200.0, 0.0)],
            [p(0.0, 5.0), p(100.0, 5.0)],
        ];
        let left = uncovered([p(0.0, 0.0), p(100.0, 0.0)], &known);
        assert_eq!(left, [[p(0.0, 0.0), p(20.0, 0.0)], [p(60.0, 0.0), p(90.0, 0.0)]]);
        assert_eq!(uncovered([p(30.0, 0.0), p(50.0, 0.0)], &known), [] as [[Point; 2]; 0]);
    }

    #[test]
    fn an_offcut_away_from_every_edge_is_scored_all_round() {
        let middle = outline(&[(10.0, 10.0), (50.0, 10.0), (50.0, 50.0), (10.0, 50.0)]);
        let runs = free_runs(&Outline::rectangle(100.0, 100.0), &[middle]);
        assert_eq!(runs.len(), 1);
        assert!(runs[0].closed && runs[0].points.len() == 4, "{runs:?}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]
        #[test]
        fn any_rows_of_rectangles_read_back_as_laid(
            sizes in prop::collection::vec((1.0_f64..400.0, 1.0_f64..400.0), 0..40),
            width in 100.0_f64..3000.0,
            height in 100.0_f64..3000.0,
            behind in any::<bool>(),
        ) {
            let face = if behind { FaceFile::Back } else { FaceFile::Show };
            check(&sample::plan(GrainFile::None, face, vec![sample::rows((width, height), &sizes, 6.0)]), behind);
        }
    }
}
