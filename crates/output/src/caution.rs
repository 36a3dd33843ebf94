//! Cautions that several pages say, worded once.

use cullet_plan::figures::TWO_PEOPLE_KG;

/// What handling any cut glass wants; ends without a full stop.
pub(crate) const SHARP: &str = "Cut edges are sharp: gloves and eye protection";

/// Who lifts heavy glass.
pub(crate) fn heavy() -> String {
    format!("Two people for sheets over {TWO_PEOPLE_KG} kg.")
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
            "Cut edges are sharp: gloves and eye protection. Two people for sheets over 25 kg."
        );
    }
}
