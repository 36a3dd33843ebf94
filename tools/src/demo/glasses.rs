//! The glasses of the demo, four that it is planned with and two that it is compared with; names and prices invented.

use cullet_job::{FaceFile, GlassFile, GrainFile, PriceUnit};

/// Plain sea green.
pub(super) const SEA: &str = "SEA";
/// Clear reeded.
pub(super) const REED: &str = "REED";
/// Streaky dawn sky, shaded one way.
pub(super) const DAWN: &str = "DAWN";
/// Clear float for bevelling.
pub(super) const CLEAR: &str = "CLEAR6";
/// The same, thinner.
pub(super) const CLEAR5: &str = "CLEAR5";
/// The same, thinner still.
pub(super) const CLEAR4: &str = "CLEAR4";

pub(super) fn all() -> Vec<GlassFile> {
    let plain = GlassFile {
        code: SEA.into(),
        name: "Sea green".into(),
        thickness: 3.0,
        texture: "plain".into(),
        grain: GrainFile::None,
        grain_tolerance: 0.0,
        may_turn_over: true,
        scored_face: FaceFile::Show,
        grind_allowance: 0.5,
        narrowest_strip: None,
        edge_trim: None,
        layout: None,
        price: 68.0,
        price_unit: PriceUnit::SquareMetre,
    };
    let reeded = GlassFile {
        code: REED.into(),
        name: "Clear, wide reeds".into(),
        thickness: 4.0,
        texture: "reeded".into(),
        grain: GrainFile::TwoWays,
        grain_tolerance: 1.0,
        may_turn_over: false,
        // The reeds are on the face that is seen; the smooth back is scored.
        scored_face: FaceFile::Back,
        price: 46.0,
        ..plain.clone()
    };
    let streaky = GlassFile {
        code: DAWN.into(),
        name: "Dawn sky".into(),
        texture: "streaky".into(),
        grain: GrainFile::OneWay,
        grain_tolerance: 10.0,
        may_turn_over: false,
        edge_trim: Some(10.0),
        price: 112.0,
        ..plain.clone()
    };
    let clear = GlassFile {
        code: CLEAR.into(),
        name: "Clear float for bevelling".into(),
        thickness: 6.0,
        // t + 2 mm, the practical least (kiln-glass notes 2008-08), instead of twice the thickness.
        narrowest_strip: Some(8.0),
        price: 38.0,
        ..plain.clone()
    };
    let thinner = |code: &str, thickness: f64, price: f64| GlassFile {
        code: code.into(),
        name: "Clear float".into(),
        thickness,
        narrowest_strip: Some(thickness + 2.0),
        price,
        ..clear.clone()
    };
    let (clear5, clear4) = (thinner(CLEAR5, 5.0, 32.0), thinner(CLEAR4, 4.0, 26.0));
    vec![plain, reeded, streaky, clear, clear5, clear4]
}
