//! The rotations that grain and bevel allow, in a frame whose grain runs upwards.

use cullet_job::{Grain, Piece};
use cullet_search::Turns;

/// Rotations of `piece` that bring its grain along the sheet's, which runs upwards (90°).
pub(super) fn turns(grain: Grain, piece: &Piece) -> Turns {
    let along = 90.0 - piece.grain_deg;
    match grain {
        Grain::None => Turns::free(),
        Grain::TwoWays { tolerance } => Turns {
            angles_deg: vec![along, along + 180.0],
            tolerance_deg: tolerance,
        },
        Grain::OneWay { tolerance } => Turns {
            angles_deg: vec![along],
            tolerance_deg: tolerance,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Pose;
    use cullet_testkit::plan as sample;

    /// Every turn found brings the piece's grain along the sheet's, whichever face is up; two ways also upside down, one way not.
    #[test]
    fn every_turn_brings_the_grain_along_the_sheets() {
        let mut piece = sample::job().pieces.remove(0);
        let tolerance = 4.0;
        for grain_deg in [0.0, 30.0, 90.0, 200.0] {
            piece.grain_deg = grain_deg;
            let along = |centre: f64, turned_over| {
                let pose = Pose {
                    rotation_deg: centre,
                    turned_over,
                    ..Pose::IDENTITY
                };
                pose.turn_direction(grain_deg).rem_euclid(360.0)
            };
            for (grain, ways) in [
                (Grain::OneWay { tolerance }, vec![90.0]),
                (Grain::TwoWays { tolerance }, vec![90.0, 270.0]),
            ] {
                let turns = turns(grain, &piece);
                assert_eq!((turns.tolerance_deg, turns.angles_deg.len()), (tolerance, ways.len()));
                for (centre, way) in turns.angles_deg.iter().zip(&ways) {
                    for turned_over in [false, true] {
                        let found = along(*centre, turned_over);
                        assert!((found - way).abs() < 1e-9, "{grain_deg}: {found} instead of {way}");
                    }
                }
            }
            assert!(turns(Grain::None, &piece).is_free());
        }
    }
}
