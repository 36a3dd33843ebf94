//! Whatever bytes come in, the SVG reader gives a drawing within reach or says what is wrong.
#![no_main]

use cullet_drawing::Segment;
use cullet_drawing::read::{Limits, ReadOptions, svg};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    // Small limits, so that one input is quick and the limits themselves are met.
    let limits = Limits {
        bytes: 1 << 16,
        elements: 2000,
        depth: 40,
        segments: 5000,
        text: 500,
    };
    let options = ReadOptions {
        unit_mm: bytes.len().is_multiple_of(2).then_some(1.0),
        limits,
    };
    match svg(bytes, &options) {
        Ok(drawing) => {
            assert!(drawing.strokes.iter().map(|s| s.segments.len()).sum::<usize>() <= limits.segments);
            for segment in drawing.strokes.iter().flat_map(|s| &s.segments) {
                if let Segment::Line { from, to } = segment {
                    assert!([from.x, from.y, to.x, to.y].iter().all(|v| v.abs() <= 1e5));
                }
            }
            assert!(drawing.strokes.iter().all(|s| !s.segments.is_empty()));
        }
        Err(error) => assert!(!error.findings("drawing").is_empty()),
    }
});
