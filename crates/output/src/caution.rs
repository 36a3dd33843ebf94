//! Cautions that several pages say, worded once.

use cullet_plan::figures::TWO_PEOPLE_KG;

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
pub(crate) fn heavy() -> String {
    format!("Two people for sheets over {TWO_PEOPLE_KG} kg, or less where your rules say so.")
}

/// Both, where nothing else is said of handling.
pub(crate) fn handling() -> String {
    format!("{SHARP}. {}", heavy())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_and_weight_are_both_named() {
        assert_eq!(
            handling(),
            "Cut edges are sharp: gloves and eye protection. Two people for sheets over 25 kg, or less where your rules say so."
        );
    }
}
