//! The score lines of one layout alone, for a cutting table.
//!
//! # What is in the file
//! True size (width and height in mm, 1 unit of the viewBox is 1 mm, y down), as large as the box round the sheet, no
//! margin and no words. Group `sheet` holds the sheet's outline to register by; `scores` one open path for each break, in the
//! breaking order, with its number on the sheet map. Both are layers by the mark that drawing programs know (`inkscape:groupmode`),
//! so that they stay apart when the file is turned into DXF and no table scores the outline. Between them they run round every piece and every returned offcut;
//! each break lies inside the glass it parts, so no score is written twice, however pieces share their sides.
//!
//! # Which face
//! The file is seen from the **scored face**. Where that is not the show face the layout is the mirror image of the sheet
//! map (x → width − x). The file says which in its description and in `data-face` (`show` or `back`).

use crate::caution::SHARP;
use crate::drawing::{View, element, file, group, push, set, worded};
use crate::number::plain;
use crate::source::{map_count, scored_on_show_face};
use cullet_geometry::Point;
use cullet_model::{Layout, Plan};
use svg::node::element::Element;

/// Decimals of a coordinate, far below what a wheel can follow.
const DECIMALS: usize = 6;

/// Width of a drawn score, mm; a score has none.
const HAIR: &str = "0.1";

/// The file with the score lines of one layout. Cost O(corners).
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
            ("xmlns:inkscape", "http://www.inkscape.org/namespaces/inkscape"),
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
        worded("desc", &format!("{words} True size, 1 unit = 1 mm. {SHARP}.")),
    );

    let mut sheet = lines("sheet", "Outline of the sheet, to register by: no score", face);
    push(&mut sheet, path(&view, outline.points(), true));
    let mut scores = lines("scores", "Scores, one for each break, in the breaking order", face);
    for (i, step) in layout.breaking.steps.iter().enumerate() {
        let mut score = path(&view, &step.chain, false);
        set(&mut score, "id", &format!("break-{}", i + 1));
        push(&mut scores, score);
    }
    for part in [sheet, scores] {
        push(&mut root, part);
    }
    file(&root)
}

fn lines(id: &str, title: &str, face: &str) -> Element {
    let mut group = group(id, title, "");
    for (key, value) in [
        ("inkscape:groupmode", "layer"),
        ("inkscape:label", id),
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, varied};
    use cullet_geometry::Outline;
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

    /// The names of the layers, as drawing programs mark them.
    fn layers(text: &str) -> Vec<String> {
        const MARKS: &str = "http://www.inkscape.org/namespaces/inkscape";
        let file = roxmltree::Document::parse(text).unwrap();
        let layers = file
            .descendants()
            .filter(|n| n.attribute((MARKS, "groupmode")) == Some("layer"));
        layers
            .map(|n| n.attribute((MARKS, "label")).unwrap().to_owned())
            .collect()
    }

    /// Every break's path lies where its chain does, mirrored where seen from behind, and there are no others.
    fn check(plan: &Plan, behind: bool) {
        for layout in plan.glasses.iter().flat_map(|g| &g.layouts) {
            let text = draw(plan, layout);
            let bounds = layout.stock.outline.bounds();
            let paths = read(&text, "scores");
            assert_eq!(paths.len(), layout.breaking.steps.len());
            for ((points, closed), step) in paths.iter().zip(&layout.breaking.steps) {
                assert!(!closed);
                assert_eq!(points.len(), step.chain.len());
                for ((x, y), p) in points.iter().zip(&step.chain) {
                    let (across, up) = if behind { (bounds.max.x - p.x, p.y) } else { (p.x, p.y) };
                    assert!((x - across).abs() < 1e-4 && (bounds.height() - y - up).abs() < 1e-4);
                }
            }
            assert!(!text.contains("<text"));
            assert_eq!(layers(&text), ["sheet", "scores"]);
            assert_eq!(text.contains("data-face=\"back\""), behind);
            assert_eq!(text.contains("mirror image"), behind);
        }
    }

    #[test]
    fn scores_lie_where_the_breaks_do() {
        check(&varied(GrainFile::OneWay, FaceFile::Show), false);
        check(&varied(GrainFile::OneWay, FaceFile::Back), true);
    }

    /// Two panes side by side without clearance, 8 mm from the left and the foot; what lies above them goes back.
    fn panes(face: FaceFile) -> String {
        let mut sheet = sample::rows((316.0, 300.0), &[(150.0, 100.0), (150.0, 100.0)], 0.0);
        sheet.returned = vec![Outline::rectangle(316.0, 180.0).translated(0.0, 120.0)];
        let plan = sample::plan(GrainFile::None, face, vec![sheet]);
        draw(&plan, &plan.glasses[0].layouts[0])
    }

    /// How many of the scores run along the upright line at `x`.
    fn along(text: &str, x: f64) -> usize {
        let paths = read(text, "scores");
        let upright = |path: &&(Vec<(f64, f64)>, bool)| path.0.iter().all(|p| (p.0 - x).abs() < 1e-6);
        paths.iter().filter(upright).count()
    }

    #[test]
    fn a_side_that_two_pieces_share_is_scored_once() {
        assert_eq!(along(&panes(FaceFile::Show), 158.0), 1);
        // From behind the panes end 8 mm from the right.
        let behind = panes(FaceFile::Back);
        assert_eq!((along(&behind, 158.0), along(&behind, 308.0)), (1, 1));
    }

    #[test]
    fn a_returned_offcut_is_freed_first() {
        for face in [FaceFile::Show, FaceFile::Back] {
            let (run, _) = read(&panes(face), "scores").swap_remove(0);
            assert_eq!(run.len(), 2);
            assert!(run.iter().all(|p| (p.1 - 180.0).abs() < 1e-6), "{run:?}");
        }
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
