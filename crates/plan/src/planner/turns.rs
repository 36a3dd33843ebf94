//! The rotations that grain and bevel allow, in a frame whose grain runs upwards.

use cullet_job::{Grain, Piece};
use cullet_nest::Turns;

/// Rotations of `piece` that bring its grain along the sheet's, which runs upwards (90°).
pub(super) fn turns(grain: Grain, piece: &Piece) -> Turns {
    let along = 90.0 - piece.grain_deg;
    match grain {
        Grain::None => Turns::free(),
        Grain::TwoWays { tolerance } => Turns {
            centres: vec![along, along + 180.0],
            slack: tolerance,
        },
        Grain::OneWay { tolerance } => Turns {
            centres: vec![along],
            slack: tolerance,
        },
    }
}

#[cfg(test)]
mod tests {
    use cullet_geometry::Pose;

    #[test]
    fn turning_over_after_the_rotation_keeps_an_upright_grain_upright() {
        for grain in [0.0, 30.0, 90.0, 200.0] {
            for turned_over in [false, true] {
                let pose = Pose {
                    rotation_deg: 90.0 - grain,
                    turned_over,
                    x: 0.0,
                    y: 0.0,
                };
                assert!((pose.turn_direction(grain) - 90.0).abs() < 1e-9);
            }
        }
    }
}
