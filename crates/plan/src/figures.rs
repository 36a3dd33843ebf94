//! The four areas, weight and money: each defined once.

use serde::{Deserialize, Serialize};

/// Density of soda-lime glass, kg per m² and mm of thickness (EN 572-1: 2500 kg/m³).
pub const KG_PER_M2_MM: f64 = 2.5;

/// What a sheet, a glass or a job comes to. Areas in mm², money in the job's currency, weights in kg.
///
/// `cullet = drawn − used − returned`; yield = used / (drawn − returned), see [`Figures::yield_share`].
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    /// Area of sheets and offcuts pulled.
    pub drawn: f64,
    /// Area of finished outlines (spares too).
    pub used: f64,
    /// Offcuts that pass the keep rule.
    pub returned: f64,
    /// What cannot be used again.
    pub cullet: f64,
    /// Area between cut and finished outlines, part of the cullet, shown apart.
    pub grinding: f64,
    /// Pieces placed.
    pub pieces: u32,
    /// Weight of the glass pulled.
    pub drawn_kg: f64,
    /// Weight of the finished pieces.
    pub used_kg: f64,
    /// Drawn at price; offcuts at their credited value.
    pub drawn_cost: f64,
    /// Returned offcuts at the credit rate.
    pub returned_credit: f64,
}

impl Figures {
    /// used / (drawn − returned); 0 when nothing was drawn.
    #[must_use]
    pub fn yield_share(&self) -> f64 {
        let spent = self.drawn - self.returned;
        if spent > 0.0 { self.used / spent } else { 0.0 }
    }

    /// What the glass costs after credit.
    #[must_use]
    pub fn net_cost(&self) -> f64 {
        self.drawn_cost - self.returned_credit
    }

    /// Sum over parts.
    #[must_use]
    pub fn sum<'a>(parts: impl IntoIterator<Item = &'a Self>) -> Self {
        parts.into_iter().fold(Self::default(), |a, b| Self {
            drawn: a.drawn + b.drawn,
            used: a.used + b.used,
            returned: a.returned + b.returned,
            cullet: a.cullet + b.cullet,
            grinding: a.grinding + b.grinding,
            pieces: a.pieces + b.pieces,
            drawn_kg: a.drawn_kg + b.drawn_kg,
            used_kg: a.used_kg + b.used_kg,
            drawn_cost: a.drawn_cost + b.drawn_cost,
            returned_credit: a.returned_credit + b.returned_credit,
        })
    }
}
