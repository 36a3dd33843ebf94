//! Length and bounds of a drawing, by dense sampling.

use cullet_drawing::{Drawing, Segment};

/// Left, low, right, high.
pub(crate) type Bounds = [f64; 4];

/// Steps of one curve; the chord of an arc misses 1/24 · (angle of a step)² of its length, below 1e-7 here.
const STEPS: u32 = 4000;

pub(crate) fn points(segment: &Segment) -> Vec<[f64; 2]> {
    let steps = if matches!(segment, Segment::Line { .. }) {
        1
    } else {
        STEPS
    };
    (0..=steps)
        .map(|i| at(segment, f64::from(i) / f64::from(steps)))
        .collect()
}

pub(crate) fn at(segment: &Segment, t: f64) -> [f64; 2] {
    match *segment {
        Segment::Line { from, to } => [from.x + (to.x - from.x) * t, from.y + (to.y - from.y) * t],
        Segment::Cubic { from, a, b, to } => {
            let s = 1.0 - t;
            let w = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
            let mix = |v: [f64; 4]| v.iter().zip(w).map(|(v, w)| v * w).sum();
            [mix([from.x, a.x, b.x, to.x]), mix([from.y, a.y, b.y, to.y])]
        }
        Segment::Arc {
            centre,
            radii,
            rotation_deg,
            start_deg,
            sweep_deg,
        } => {
            let (sin, cos) = rotation_deg.to_radians().sin_cos();
            let (s, c) = (start_deg + t * sweep_deg).to_radians().sin_cos();
            let (u, v) = (radii[0] * c, radii[1] * s);
            [centre.x + u * cos - v * sin, centre.y + u * sin + v * cos]
        }
    }
}

pub(crate) fn length_of(segments: &[Segment]) -> f64 {
    let length = |segment| {
        points(segment)
            .windows(2)
            .map(|p| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]))
            .sum::<f64>()
    };
    segments.iter().map(length).sum()
}

pub(crate) fn length(drawing: &Drawing) -> f64 {
    drawing.strokes.iter().map(|stroke| length_of(&stroke.segments)).sum()
}

pub(crate) fn bounds(drawing: &Drawing) -> Option<Bounds> {
    drawing
        .strokes
        .iter()
        .flat_map(|s| &s.segments)
        .flat_map(points)
        .fold(None, |bounds, p| {
            let b: Bounds = bounds.unwrap_or([p[0], p[1], p[0], p[1]]);
            Some([b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])])
        })
}

/// Every stroke holds together: each segment starts where the one before ends, a closed one ends where it starts.
pub(crate) fn assert_joined(drawing: &Drawing) {
    for stroke in &drawing.strokes {
        let gap = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
        for pair in stroke.segments.windows(2) {
            assert!(
                gap(at(&pair[0], 1.0), at(&pair[1], 0.0)) < 1e-6,
                "{}: {pair:?}",
                stroke.place
            );
        }
        if stroke.closed {
            let (first, last) = (
                stroke.segments.first().expect("segments"),
                stroke.segments.last().expect("segments"),
            );
            assert!(
                gap(at(last, 1.0), at(first, 0.0)) < 1e-6,
                "{}: not closed",
                stroke.place
            );
        }
    }
}
