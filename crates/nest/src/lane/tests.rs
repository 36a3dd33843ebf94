use super::*;
use crate::field::{Bin, Spot};
use crate::kernel::Shape;
use crate::strip::STRIP;
use cullet_geometry::Outline;
use cullet_search::Lane as _;

/// Two squares of 10 mm in a row, `gap` apart.
fn row(field: &mut Field, gap: f64) -> Shortest {
    let posture = &field.kinds[0].fixed[0];
    let [x, y] = posture.low.map(|low| -low);
    for i in 0..2 {
        let spot = Spot {
            bin: 0,
            x: x + i as f64 * (10.0 + gap),
            y,
        };
        field.put(i, posture, spot);
    }
    Shortest {
        length: 20.0 + gap,
        slots: field.snapshot(),
        judged: 0,
    }
}

/// Only the finder squeezes: a lane that is disrupting goes on so, now from the shorter layout.
#[test]
fn a_lane_that_takes_over_a_layout_goes_on_disrupting() {
    let kinds = [Shape::new(&Outline::rectangle(10.0, 10.0), 0.001).0];
    let bin = Bin {
        width: 100.0,
        height: 10.0,
        open: true,
        obstacles: 0..0,
    };
    let mut field = Field::new(&kinds, vec![bin], &[], &[0, 0]);
    let (shorter, longer, own) = (row(&mut field, 1.0), row(&mut field, 9.0), row(&mut field, 5.0));
    let mut lane = Lane::new(field, STRIP, own, 20.0, Random::new(1, 0));
    lane.mode = Mode::Disrupt;
    lane.attempt = lane.begin();
    assert!(lane.attempt.is_some() && lane.target < 25.0);
    lane.adopt(&longer);
    assert!(
        lane.attempt.is_some() && lane.best.length == 25.0,
        "a longer one is left alone"
    );
    lane.adopt(&shorter);
    assert_eq!((lane.mode, lane.best.length), (Mode::Disrupt, 21.0));
    assert!(lane.attempt.is_none(), "what it tried is longer than that");
    lane.attempt = lane.begin();
    assert!(lane.target < 21.0 && lane.attempt.is_some_and(|attempt| attempt.mode == Mode::Disrupt));
}
