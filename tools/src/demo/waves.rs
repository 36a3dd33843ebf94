//! Panel W: waves running in under the lamp's beams; made with its mirror image, left and right of panel L.

use super::cartoon::Cartoon;
use super::cell::Cell;
use super::curve::{Curve, point, polar};
use super::glasses::{DAWN, REED, SEA};
use super::{DemoPanel, Make};
use anyhow::Result;
use cullet_geometry::Point;

const WIDTH: f64 = 420.0;
const HEIGHT: f64 = 900.0;
/// Middle of the lens in panel L, past a 20 mm mullion: the beams go on from there.
const LENS: Point = point(720.0, 590.0);

/// A wave line: height at the left edge, slope, and where along it the arcs join; they bend up and down in turn.
struct Wave {
    left: f64,
    right: f64,
    joins: &'static [f64],
    /// Tangent at the first join against the line through the joins, degrees; 30 gives chord : depth 7.5.
    rise: f64,
}

const WAVES: [Wave; 5] = [
    Wave {
        left: 432.0,
        right: 470.0,
        joins: &[-0.12, 0.34, 0.80, 1.26],
        rise: 31.0,
    },
    Wave {
        left: 352.0,
        right: 372.0,
        joins: &[-0.32, 0.10, 0.54, 0.98, 1.40],
        rise: -27.0,
    },
    Wave {
        left: 262.0,
        right: 278.0,
        joins: &[-0.05, 0.38, 0.80, 1.22],
        rise: 26.0,
    },
    Wave {
        left: 172.0,
        right: 178.0,
        joins: &[-0.25, 0.22, 0.69, 1.16],
        rise: 22.0,
    },
    Wave {
        left: 84.0,
        right: 84.0,
        joins: &[-0.10, 0.45, 1.0, 1.55],
        rise: 17.0,
    },
];

/// Lead lines across a band: x at its upper and its lower end.
const ACROSS: [&[(f64, f64)]; 5] = [
    &[(98.0, 86.0), (232.0, 222.0), (340.0, 336.0)],
    &[(60.0, 52.0), (176.0, 166.0), (300.0, 292.0)],
    &[(120.0, 108.0), (250.0, 240.0), (352.0, 346.0)],
    &[(72.0, 64.0), (205.0, 196.0), (318.0, 312.0)],
    &[(140.0, 134.0), (282.0, 276.0)],
];

pub(super) fn panel() -> Result<DemoPanel> {
    let mut cartoon = Cartoon::panel(WIDTH, HEIGHT);
    for wave in &WAVES {
        for arc in wave.arcs() {
            cartoon.lead(arc);
        }
    }
    for (band, lines) in ACROSS.iter().enumerate() {
        for (top, bottom) in *lines {
            across(&mut cartoon, band, *top, *bottom);
        }
    }
    sky(&mut cartoon);
    let cells = cartoon.cells()?.into_iter().map(|cell| (make(&cell), cell));
    Ok(DemoPanel {
        id: "W",
        name: "Waves",
        width: WIDTH,
        height: HEIGHT,
        quantity: 1,
        leads: cartoon.trimmed(),
        mirrored_quantity: 1,
        cells: cells.map(|(make, cell)| (cell, make)).collect(),
    }
    .numbered(|cell, _| cell.middle().x))
}

impl Wave {
    fn arcs(&self) -> impl Iterator<Item = Curve> {
        let along = |t: f64| point(WIDTH * t, self.left + (self.right - self.left) * t);
        let pairs = self.joins.windows(2).enumerate();
        pairs.map(move |(i, ends)| {
            let rise = if i % 2 == 0 { self.rise } else { -self.rise };
            Curve::over_chord(along(ends[0]), along(ends[1]), rise)
        })
    }

    /// Height at x, from the arcs.
    fn height(&self, x: f64) -> f64 {
        let upright = Curve::line(point(x, 0.0), point(x, HEIGHT));
        let mut meet = self.arcs().flat_map(|arc| {
            let on = upright.carriers_meet(&arc).into_iter();
            on.filter(move |p| arc.position_of(*p).is_some())
        });
        meet.next().map_or(self.left, |p| p.y)
    }
}

/// A line across a band, ends on its two waves (the lowest band ends on the panel's edge).
fn across(cartoon: &mut Cartoon, band: usize, top: f64, bottom: f64) {
    let low = WAVES.get(band + 1).map_or(0.0, |wave| wave.height(bottom));
    cartoon.straight(point(top, WAVES[band].height(top)), point(bottom, low));
}

/// Directions of the lead lines between beams, from the lens, degrees.
const RAYS: [f64; 4] = [147.0, 162.0, 174.0, 186.0];

fn sky(cartoon: &mut Cartoon) {
    for degrees in RAYS {
        let angle = degrees.to_radians();
        cartoon.straight(polar(LENS, 250.0, angle), polar(LENS, 800.0, angle));
    }
    // Each beam is broken by arcs round the lens, in one beam further out than in the next.
    let broken: [(f64, f64, &[f64]); 4] = [
        (120.0, 147.0, &[446.0]),
        (147.0, 162.0, &[400.0, 520.0]),
        (162.0, 174.0, &[446.0, 580.0]),
        (174.0, 186.0, &[400.0, 520.0, 640.0]),
    ];
    for (from, to, radii) in broken {
        for radius in radii {
            cartoon.lead(Curve::arc(LENS, *radius, from, to));
        }
    }
    for radius in [446.0, 580.0] {
        cartoon.lead(Curve::arc(LENS, radius, 186.0, highest_wave(radius)));
    }
}

/// Where a circle round the lens comes down to the highest wave, degrees.
fn highest_wave(radius: f64) -> f64 {
    let circle = Curve::arc(LENS, radius, 186.0, 260.0);
    let meet = WAVES[0].arcs().flat_map(|arc| {
        let on = circle.carriers_meet(&arc).into_iter();
        on.filter(move |p| arc.position_of(*p).is_some())
    });
    let first = meet.filter_map(|p| circle.position_of(p)).fold(1.0, f64::min);
    186.0 + 74.0 * first
}

fn make(cell: &Cell) -> Make {
    let middle = cell.middle();
    // Cells are classed by the waves above them; the bands are thick enough for their middles to be clear of the lines.
    let above = WAVES.iter().filter(|wave| wave.height(middle.x) > middle.y).count();
    let part = |n: usize| u8::try_from(n).unwrap_or(u8::MAX);
    match above {
        0 => {
            let from_lens = middle - LENS;
            let outward = from_lens.y.atan2(from_lens.x).to_degrees().rem_euclid(360.0);
            let beam = RAYS.iter().filter(|ray| **ray < outward).count();
            Make {
                one_lot: Some("wing sky"),
                ..Make::of(part(beam), DAWN).grain(outward)
            }
        }
        1 | 4 => Make::of(part(RAYS.len() + above), REED).grain(90.0),
        _ => Make::of(part(RAYS.len() + above), SEA),
    }
}
