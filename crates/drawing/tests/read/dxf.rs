//! DXF files written by ezdxf, against ezdxf's own lengths, bounds and texts (`fixtures/drawings/make_dxf.py`).

use crate::figures::{assert_joined, bounds, length};
use crate::{fixtures, json};
use cullet_drawing::read::{ReadOptions, read};

/// ezdxf flattens to 1e-5 of a unit and hands out LWPOLYLINE arcs' ends rounded to about 1e-6.
const NEAR_MM: f64 = 2e-3;

#[test]
fn every_entity_measures_what_ezdxf_measures() {
    for file in fixtures("dxf", "dxf") {
        let name = file.file_name().and_then(|n| n.to_str()).expect("a name");
        let expect = json(&file).expect("figures beside the fixture");
        let options = ReadOptions {
            unit_mm: expect["unit_mm"].as_f64(),
            ..ReadOptions::default()
        };
        let drawing =
            read(name, &std::fs::read(&file).expect("a file"), &options).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_joined(&drawing);
        let want = expect["length"].as_f64().expect("a length");
        let found = length(&drawing);
        assert!(
            (found - want).abs() < NEAR_MM + 1e-6 * want,
            "{name}: length {found}, ezdxf {want}"
        );
        if let Some(want) = expect["bounds"].as_array() {
            let found = bounds(&drawing).expect("lines");
            for (f, w) in found.iter().zip(want) {
                assert!(
                    (f - w.as_f64().expect("a number")).abs() < NEAR_MM,
                    "{name}: bounds {found:?}, ezdxf {want:?}"
                );
            }
        }
        let want = expect["texts"].as_array().expect("texts");
        assert_eq!(drawing.texts.len(), want.len(), "{name}: {:?}", drawing.texts);
        for (text, want) in drawing.texts.iter().zip(want) {
            assert_eq!(text.content, want[0].as_str().expect("a text"), "{name}");
            let (x, y) = (want[1].as_f64().expect("x"), want[2].as_f64().expect("y"));
            assert!((text.at.x - x).hypot(text.at.y - y) < 1e-6, "{name}: {text:?}");
        }
        let want = expect["unread"].as_array().expect("what is not read");
        assert_eq!(drawing.unread.len(), want.len(), "{name}: {:?}", drawing.unread);
        for (unread, want) in drawing.unread.iter().zip(want) {
            let want = want.as_str().expect("a name");
            assert!(
                unread.starts_with(want) && unread.contains(", line "),
                "{name}: {unread}"
            );
        }
        if let Some(layers) = expect["layers"].as_array() {
            let found: Vec<&str> = drawing.strokes.iter().map(|s| s.layer.as_str()).collect();
            assert_eq!(
                found,
                layers.iter().filter_map(|l| l.as_str()).collect::<Vec<_>>(),
                "{name}"
            );
        }
    }
}

/// Curves keep their kind: a glazier's arc is not to become a string of chords or an approximate curve.
#[test]
fn arcs_stay_arcs() {
    use cullet_drawing::Segment;
    let kinds = |name: &str| -> String {
        let file = fixtures("dxf", "dxf")
            .into_iter()
            .find(|f| f.ends_with(name))
            .expect("the fixture");
        let drawing = read(name, &std::fs::read(file).expect("a file"), &ReadOptions::default()).expect("a drawing");
        let kind = |s: &Segment| match s {
            Segment::Line { .. } => 'l',
            Segment::Arc { radii, .. } if radii[0] == radii[1] => 'c',
            Segment::Arc { .. } => 'e',
            Segment::Cubic { .. } => 'b',
        };
        drawing.strokes.iter().flat_map(|s| &s.segments).map(kind).collect()
    };
    assert_eq!(kinds("arc.dxf"), "ccc");
    assert_eq!(kinds("insert.dxf"), "clccl".repeat(3));
    assert_eq!(kinds("insert_unequal.dxf"), "eleel".repeat(3));
    assert!(
        kinds("spline_rational.dxf").ends_with("bcccc"),
        "a circle drawn as a spline is four arcs"
    );
    assert_eq!(kinds("spline_degrees.dxf").find('b'), Some(6), "degree 1 is six lines");
}
