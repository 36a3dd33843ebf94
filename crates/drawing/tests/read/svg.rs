//! SVG files against usvg, an independent reader that turns every shape into path data in pixels, and path lengths
//! against svgpathtools (`fixtures/drawings/make_svg.py`).

use crate::figures::{Bounds, assert_joined, bounds, length, length_of};
use crate::{fixtures, json};
use cullet_drawing::read::{ReadOptions, read};
use cullet_drawing::{Drawing, Segment};
use resvg::usvg;
use usvg::tiny_skia_path::{PathSegment, Point};

const MM_PER_PX: f64 = 25.4 / 96.0;

fn drawing(file: &std::path::Path) -> Drawing {
    let name = file.to_string_lossy();
    let bytes = std::fs::read(file).expect("a file");
    read(&name, &bytes, &ReadOptions::default()).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// What usvg makes of a file: lines and cubics in millimetres, y up.
fn by_usvg(file: &std::path::Path) -> Vec<Segment> {
    let bytes = std::fs::read(file).expect("a file");
    let tree = usvg::Tree::from_data(&bytes, &usvg::Options::default()).expect("usvg reads it");
    let mut segments = vec![];
    collect(tree.root(), &mut segments);
    segments
}

fn collect(group: &usvg::Group, out: &mut Vec<Segment>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => collect(group, out),
            usvg::Node::Path(path) if path.is_visible() => {
                let map = path.abs_transform();
                let mm = |mut p: Point| {
                    map.map_point(&mut p);
                    let (x, y) = (f64::from(p.x) * MM_PER_PX, -f64::from(p.y) * MM_PER_PX);
                    geo_point(x, y)
                };
                let (mut start, mut at) = (Point::zero(), Point::zero());
                for segment in path.data().segments() {
                    match segment {
                        PathSegment::MoveTo(p) => (start, at) = (p, p),
                        PathSegment::LineTo(p) => {
                            out.push(Segment::Line {
                                from: mm(at),
                                to: mm(p),
                            });
                            at = p;
                        }
                        PathSegment::QuadTo(h, p) => {
                            let towards = |e: Point| Point::from_xy(e.x + (h.x - e.x) / 1.5, e.y + (h.y - e.y) / 1.5);
                            let (a, b) = (mm(towards(at)), mm(towards(p)));
                            out.push(Segment::Cubic {
                                from: mm(at),
                                a,
                                b,
                                to: mm(p),
                            });
                            at = p;
                        }
                        PathSegment::CubicTo(a, b, p) => {
                            out.push(Segment::Cubic {
                                from: mm(at),
                                a: mm(a),
                                b: mm(b),
                                to: mm(p),
                            });
                            at = p;
                        }
                        PathSegment::Close => {
                            out.push(Segment::Line {
                                from: mm(at),
                                to: mm(start),
                            });
                            at = start;
                        }
                    }
                }
            }
            _ => {}
        }
    }
}

fn geo_point(x: f64, y: f64) -> cullet_geometry::Point {
    cullet_geometry::Point { x, y }
}

/// usvg's arcs are cubics, off by up to 2.7e-4 of the radius (crates.md), its numbers f32.
///
/// The fixtures give no `transform` to a `use` of a group: usvg 0.45 then applies it twice (SVG 2, 5.6 wants it once).
#[test]
fn every_drawing_measures_what_usvg_measures() {
    for file in fixtures("svg", "svg") {
        let name = file.display();
        let found = drawing(&file);
        assert_joined(&found);
        let segments = by_usvg(&file);
        let (found_mm, want_mm) = (length(&found), length_of(&segments));
        assert!(
            (found_mm - want_mm).abs() <= 3e-4 * want_mm,
            "{name}: length {found_mm}, usvg {want_mm}"
        );
        let Some(want) = bounds_of(&segments) else { continue };
        let have = bounds(&found).expect("lines");
        let size = (want[2] - want[0]).hypot(want[3] - want[1]);
        for (h, w) in have.iter().zip(want) {
            assert!((h - w).abs() <= 3e-4 * size, "{name}: bounds {have:?}, usvg {want:?}");
        }
    }
}

fn bounds_of(segments: &[Segment]) -> Option<Bounds> {
    segments
        .iter()
        .flat_map(crate::figures::points)
        .fold(None, |bounds, p| {
            let b: Bounds = bounds.unwrap_or([p[0], p[1], p[0], p[1]]);
            Some([b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])])
        })
}

/// usvg keeps only shapes that are painted: neither `fill: none` without a stroke, nor a stroke of no width or no colour.
#[test]
fn what_is_painted_is_what_usvg_paints() {
    let fills = [
        "",
        "fill:none",
        "fill:#f00",
        "fill:transparent",
        "fill:rgba(1,2,3,0)",
        "fill:rgba(1,2,3,0.5)",
    ];
    let strokes = [
        "",
        "stroke:none",
        "stroke:#000",
        "stroke:#000;stroke-width:0",
        "stroke:rgb(0,0,0)",
        "stroke:rgba(0,0,0,0)",
    ];
    for (fill, stroke) in fills.iter().flat_map(|fill| strokes.map(|stroke| (fill, stroke))) {
        for inherited in [false, true] {
            let style = format!("style='{fill};{stroke}'");
            let (around, own) = if inherited {
                (style.as_str(), "")
            } else {
                ("", style.as_str())
            };
            let file = format!(
                "<svg xmlns='http://www.w3.org/2000/svg' width='9mm' height='9mm' viewBox='0 0 9 9'>\
                 <g {around}><path {own} d='M1 1 L8 1 L8 8 Z'/></g></svg>"
            );
            let ours = read("a.svg", file.as_bytes(), &ReadOptions::default()).expect("a drawing");
            let tree = usvg::Tree::from_data(file.as_bytes(), &usvg::Options::default()).expect("usvg reads it");
            let mut theirs = vec![];
            collect_painted(tree.root(), &mut theirs);
            let (ours, theirs) = (!ours.strokes.is_empty(), theirs.contains(&true));
            assert_eq!(ours, theirs, "{style}, inherited: {inherited}");
        }
    }
}

/// Whether each path has a fill or a stroke that shows.
fn collect_painted(group: &usvg::Group, out: &mut Vec<bool>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => collect_painted(group, out),
            usvg::Node::Path(path) => {
                let fill = path.fill().is_some_and(|fill| fill.opacity().get() > 0.0);
                let stroke = path.stroke().is_some_and(|stroke| stroke.opacity().get() > 0.0);
                out.push(fill || stroke);
            }
            _ => {}
        }
    }
}

/// CSS Images 3, 5.1 (and SVG 2, 7.1): with one size stated the other follows from the viewBox's proportions. usvg takes
/// the viewBox's own size in px there, which would make a panel drawn 200 mm wide 26 mm.
#[test]
fn a_missing_height_follows_from_the_width() {
    for size in ["width='200mm'", "height='100mm'", "width='200mm' height='100%'"] {
        let file = format!("<svg viewBox='0 0 100 50' {size}><rect width='100' height='50'/></svg>");
        let found = read("a.svg", file.as_bytes(), &ReadOptions::default()).expect("a drawing");
        let [left, low, right, high] = bounds(&found).expect("lines");
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(
            near(right - left, 200.0) && near(high - low, 100.0),
            "{size}: {right} {high}"
        );
    }
}

/// SVG 2, 5.6: the `transform` of a `use` is applied once, outside its x and y.
#[test]
fn a_use_is_moved_and_then_transformed() {
    let file = br##"<svg viewBox="0 0 96 96" width="96" height="96"><defs><g id="a"><path d="M0 0H10"/></g></defs>
        <use href="#a" x="20" y="6" transform="translate(1 2) scale(.5)"/></svg>"##;
    let found = read("a.svg", file, &ReadOptions::default()).expect("a drawing");
    let [left, low, right, high] = bounds(&found).expect("a line").map(|v| v / MM_PER_PX);
    let near = |a: f64, b: f64| (a - b).abs() < 1e-12;
    assert!(
        near(left, 11.0) && near(right, 16.0) && near(low, -5.0) && near(high, -5.0),
        "{left} {low} {right} {high}"
    );
}

#[test]
fn paths_are_as_long_as_svgpathtools_finds() {
    let file = fixtures("svg", "svg")
        .into_iter()
        .find(|f| f.ends_with("paths.svg"))
        .expect("the fixture");
    let expect = json(&file).expect("lengths beside it");
    let lengths = expect["lengths"].as_object().expect("lengths by id");
    let found = drawing(&file);
    assert_eq!(lengths.len(), 60);
    for (id, want) in lengths {
        let own = found.strokes.iter().filter(|s| s.place.what == format!("path {id:?}"));
        let found: f64 = own.map(|s| length_of(&s.segments)).sum();
        let want = want.as_f64().expect("a length");
        assert!((found - want).abs() < 1e-6 * want, "{id}: {found}, svgpathtools {want}");
    }
}

/// Layers, classes, texts and what is left out, as stated beside the fixture.
#[test]
fn names_and_texts_are_as_stated() {
    let mut stated = 0;
    for file in fixtures("svg", "svg") {
        let name = file.display();
        let Some(expect) = json(&file) else { continue };
        let found = drawing(&file);
        if let Some(strokes) = expect["strokes"].as_array() {
            stated += 1;
            let have: Vec<[String; 2]> = found
                .strokes
                .iter()
                .map(|s| [s.layer.clone(), s.classes.join(" ")])
                .collect();
            assert_eq!(serde_json::json!(have), serde_json::json!(strokes), "{name}");
        }
        if let Some(texts) = expect["texts"].as_array() {
            stated += 1;
            assert_eq!(found.texts.len(), texts.len(), "{name}: {:?}", found.texts);
            for (have, want) in found.texts.iter().zip(texts) {
                assert_eq!(have.content, want[0].as_str().expect("a text"), "{name}");
                let (x, y) = (want[1].as_f64().expect("x"), want[2].as_f64().expect("y"));
                assert!((have.at.x - x).hypot(have.at.y - y) < 1e-9, "{name}: {have:?}");
            }
        }
        if let Some(unread) = expect["unread"].as_array() {
            stated += 1;
            assert_eq!(serde_json::json!(found.unread), serde_json::json!(unread), "{name}");
        }
    }
    assert!(stated >= 3);
}

/// W3C SVG 2, 9.3.8 and 10.2: circles, round corners and arc commands stay arcs, circles stay circles where they can.
#[test]
fn arcs_stay_arcs() {
    let find = |name: &str| {
        fixtures("svg", "svg")
            .into_iter()
            .find(|f| f.ends_with(name))
            .expect("the fixture")
    };
    let kinds = |name: &str| -> String {
        let kind = |s: &Segment| match s {
            Segment::Line { .. } => 'l',
            Segment::Arc { radii, .. } if radii[0] == radii[1] => 'c',
            Segment::Arc { .. } => 'e',
            Segment::Cubic { .. } => 'b',
        };
        drawing(&find(name))
            .strokes
            .iter()
            .flat_map(|s| &s.segments)
            .map(kind)
            .collect()
    };
    assert_eq!(kinds("transforms.svg"), "eeeelclclclc");
    assert_eq!(kinds("use_symbol.svg"), "clllcccccc");
    assert_eq!(kinds("nested_svg.svg"), "cllll");
}
