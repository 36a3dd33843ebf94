//! Cautions that several pages say, worded once.

use cullet_job::Units;
use cullet_job::measure::weights;
use cullet_model::Plan;
use cullet_trade::TWO_PEOPLE_KG;

/// What handling any cut glass wants; ends without a full stop.
pub const SHARP: &str = "Cut edges are sharp: gloves and eye protection";

/// What lead wants.
pub const LEAD: &str = "Lead: wash hands after work and before food, no food or drink at the bench, clean wet and never sweep dry, ventilate \
                        where it is soldered.";

/// Who decides on what holds a window up.
pub(crate) const STRUCTURE: &str = "Supports, fixings and the strength of a window are for licensed practice.";

/// What the figures are; the same on every page.
pub(crate) const FIGURES: &str = "Pulled: the sheets and offcuts taken. Used: the finished pieces. Returned: what goes back to the rack. Cullet: \
                                  the rest, grinding included.";

/// Who lifts heavy glass.
pub(crate) fn heavy(units: Units) -> String {
    format!(
        "Two people for sheets over {}, or less where your rules say so.",
        too_heavy(units)
    )
}

/// Who lifts the glass of these maps; nothing where none of it is heavy.
#[must_use]
pub fn lift(plan: &Plan) -> String {
    let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
    let heavy = layouts.filter(|layout| layout.figures.pulled_kg > TWO_PEOPLE_KG);
    let maps: Vec<String> = heavy.map(|layout| layout.number.to_string()).collect();
    match maps.as_slice() {
        [] => String::new(),
        maps => format!(
            "Over {}, two people to lift: map {}.",
            too_heavy(plan.job.units),
            maps.join(", ")
        ),
    }
}

/// The weight above which two people lift, as people write it: 25 kg is 55 lb.
fn too_heavy(units: Units) -> String {
    let scale = weights(units);
    format!("{:.0} {}", TWO_PEOPLE_KG / scale.one, scale.sign)
}

/// Both, where nothing else is said of handling.
pub(crate) fn handling(units: Units) -> String {
    format!("{SHARP}. {}", heavy(units))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_and_weight_are_both_named() {
        assert_eq!(
            handling(Units::Millimetres),
            "Cut edges are sharp: gloves and eye protection. Two people for sheets over 25 kg, or less where your rules say so."
        );
        assert!(heavy(Units::Inches).contains("over 55 lb,"));
    }
}
