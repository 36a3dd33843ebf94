//! The four areas, weight and money: each defined once.
//!
//! [`Figures`] are the numbers, [`Accounts`] works them out for one sheet; a glass and a job are [`Figures::sum`]s of those.

use crate::Placement;
use cullet_geometry::Outline;
use cullet_job::{Glass, Job, Piece, PieceId};
use cullet_rack::StockItem;
use cullet_trade::KG_PER_M2_MM;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a sheet, a glass or a job comes to. Areas in mm², money in the job's currency, weights in kg.
///
/// `cullet = pulled − used − returned`; yield = used / (pulled − returned), see [`Figures::yield_share`].
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    /// Area of sheets and offcuts pulled.
    #[serde(alias = "drawn")]
    pub pulled: f64,
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
    #[serde(alias = "drawn_kg")]
    pub pulled_kg: f64,
    /// Weight of the finished pieces.
    pub used_kg: f64,
    /// Drawn at price; offcuts at their credited value.
    #[serde(alias = "drawn_cost")]
    pub pulled_cost: f64,
    /// Returned offcuts at the credit rate.
    pub returned_credit: f64,
}

impl Figures {
    /// used / (pulled − returned); 0 when nothing was pulled.
    #[must_use]
    pub fn yield_share(&self) -> f64 {
        let spent = self.pulled - self.returned;
        if spent > 0.0 { self.used / spent } else { 0.0 }
    }

    /// What the glass costs after credit.
    #[must_use]
    pub fn net_cost(&self) -> f64 {
        self.pulled_cost - self.returned_credit
    }

    /// Sum over parts.
    #[must_use]
    pub fn sum<'a>(parts: impl IntoIterator<Item = &'a Self>) -> Self {
        parts.into_iter().fold(Self::default(), |a, b| Self {
            pulled: a.pulled + b.pulled,
            used: a.used + b.used,
            returned: a.returned + b.returned,
            cullet: a.cullet + b.cullet,
            grinding: a.grinding + b.grinding,
            pieces: a.pieces + b.pieces,
            pulled_kg: a.pulled_kg + b.pulled_kg,
            used_kg: a.used_kg + b.used_kg,
            pulled_cost: a.pulled_cost + b.pulled_cost,
            returned_credit: a.returned_credit + b.returned_credit,
        })
    }
}

/// Weight in kg of `area` mm² of glass `thickness` mm thick (EN 572-1: 2.5 kg per m² and mm).
///
/// ```
/// use cullet_model::figures::weight_kg;
/// assert_eq!(weight_kg(1_000_000.0, 4.0), 10.0);
/// ```
#[must_use]
pub fn weight_kg(area: f64, thickness: f64) -> f64 {
    area * 1e-6 * thickness * KG_PER_M2_MM
}

/// A job's prices and pieces, ready to be looked up: made once a job, asked once a sheet.
#[derive(Debug, Clone)]
pub struct Accounts<'j> {
    pieces: BTreeMap<&'j PieceId, &'j Piece>,
    glasses: BTreeMap<&'j str, &'j Glass>,
    credit_rate: f64,
}

impl<'j> Accounts<'j> {
    /// Of `job`. Cost O(n log n) in its pieces.
    #[must_use]
    pub fn new(job: &'j Job) -> Self {
        Self {
            pieces: job.pieces.iter().map(|p| (&p.id, p)).collect(),
            glasses: job.glasses.iter().map(|g| (g.code.as_str(), g)).collect(),
            credit_rate: job.credit_rate,
        }
    }

    /// What pulling one of `item` costs: its own price, or its area at the glass's price; an offcut at the credit rate of
    /// that. 0 for a glass that the job does not have.
    #[must_use]
    pub fn value(&self, item: &StockItem) -> f64 {
        let glass = self.glasses.get(item.glass.as_str());
        item.value(glass.map_or(0.0, |g| g.price_per_mm2), self.credit_rate)
    }

    /// What one of `item` comes to when `placements` are cut from it and `returned` goes back to the rack. A piece or a glass
    /// that the job does not have counts as nothing (the verifier names it). Cost O(m log n) for m placements.
    #[must_use]
    pub fn layout(&self, item: &StockItem, placements: &[Placement], returned: &[Outline]) -> Figures {
        let glass = self.glasses.get(item.glass.as_str());
        let thickness = glass.map_or(0.0, |g| g.thickness);
        let price_per_mm2 = glass.map_or(0.0, |g| g.price_per_mm2);
        let cut = || placements.iter().filter_map(|p| self.pieces.get(&p.id));

        let pulled = item.outline.area();
        let used: f64 = cut().map(|p| p.finished.area()).sum();
        let returned: f64 = returned.iter().map(Outline::area).sum();
        Figures {
            pulled,
            used,
            returned,
            cullet: pulled - used - returned,
            grinding: cut().map(|p| p.cut.area() - p.finished.area()).sum(),
            pieces: u32::try_from(placements.len()).unwrap_or(u32::MAX),
            pulled_kg: weight_kg(pulled, thickness),
            used_kg: weight_kg(used, thickness),
            pulled_cost: self.value(item),
            returned_credit: returned * price_per_mm2 * self.credit_rate,
        }
    }
}
