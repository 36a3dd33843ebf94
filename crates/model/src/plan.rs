//! The plan: which piece lies where on which glass, and what that costs. Also the file `plan.json`.

use crate::figures::Figures;
use cullet_breakout::{Breaking, Style};
use cullet_geometry::{Outline, Pose};
use cullet_job::{JobFile, PieceId};
use cullet_rack::{RackState, Stock, StockItem};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The `format` that this version writes.
pub const FORMAT: &str = "cullet-plan 5";
/// Formats that this version reads. Plans of 4 call what is pulled drawn, and their job has no format; those of 3 do not list their
/// files either.
pub const READ: [&str; 3] = ["cullet-plan 3", "cullet-plan 4", FORMAT];

/// A plan. It carries the job and the stock it was made from, so that it can be verified from scratch on its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// One of [`READ`].
    pub format: String,
    /// How the search was asked to run.
    pub effort: Effort,
    /// The job as its file says.
    pub job: JobFile,
    /// The stock it was made from.
    pub stock: Stock,
    /// The rack that the stock was taken from, as it was then; none where it came from a stock list.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rack: Option<RackState>,
    /// Every piece kind with its outlines, in the job's order.
    pub pieces: Vec<PlanPiece>,
    /// One entry a glass, in the job's order; glasses without pieces are left out.
    pub glasses: Vec<GlassPlan>,
    /// Pieces that could not be placed, and why. With the placed ones and the spares left out they add up to what the job asks
    /// for.
    pub unplaced: Vec<Unplaced>,
    /// Spares that the glass pulled for the panels has no room for: the plan is whole without them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub spares_left_out: Vec<SparesLeftOut>,
    /// Of the whole job.
    pub figures: Figures,
    /// The files that were written with it, by name, each with the SHA-256 of what is in it (64 hexadecimal digits); for
    /// `plan.json` itself, that of the plan without this list. Empty where the plan has not been written.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub files: BTreeMap<String, String>,
}

/// How the search was asked to run. In the file it has the fields `seed`, `seconds` and `rounds`, one of the two null.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "EffortFile", into = "EffortFile")]
pub struct Effort {
    /// Seed of the random numbers.
    pub seed: u64,
    /// When it ends.
    pub limit: Limit,
}

/// When a search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// After so many seconds.
    Seconds(f64),
    /// After so many rounds: then the plan depends on nothing but the input.
    Rounds(u64),
}

impl Effort {
    /// A search that ends after so many seconds.
    #[must_use]
    pub const fn seconds(seed: u64, seconds: f64) -> Self {
        Self {
            seed,
            limit: Limit::Seconds(seconds),
        }
    }

    /// A search that ends after so many rounds.
    #[must_use]
    pub const fn rounds(seed: u64, rounds: u64) -> Self {
        Self {
            seed,
            limit: Limit::Rounds(rounds),
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EffortFile {
    seed: u64,
    seconds: Option<f64>,
    rounds: Option<u64>,
}

impl From<Effort> for EffortFile {
    fn from(effort: Effort) -> Self {
        let (seconds, rounds) = match effort.limit {
            Limit::Seconds(seconds) => (Some(seconds), None),
            Limit::Rounds(rounds) => (None, Some(rounds)),
        };
        Self {
            seed: effort.seed,
            seconds,
            rounds,
        }
    }
}

impl TryFrom<EffortFile> for Effort {
    type Error = &'static str;

    fn try_from(file: EffortFile) -> Result<Self, Self::Error> {
        match (file.seconds, file.rounds) {
            (Some(seconds), None) => Ok(Self::seconds(file.seed, seconds)),
            (None, Some(rounds)) => Ok(Self::rounds(file.seed, rounds)),
            _ => Err("an effort has seconds or rounds, one of them"),
        }
    }
}

/// A piece kind as the plan cuts it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanPiece {
    /// Which piece.
    pub id: PieceId,
    /// Code of its glass.
    pub glass: String,
    /// What goes into the came, in the panel's frame, mm.
    pub finished: Outline,
    /// What is scored, in the panel's frame, mm.
    pub cut: Outline,
    /// Direction of its grain in the panel's frame, degrees, where its glass has a grain.
    pub grain_deg: Option<f64>,
    /// Whether it is bevelled.
    pub bevelled: bool,
}

/// All layouts of one glass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GlassPlan {
    /// Code of the glass.
    pub glass: String,
    /// One a sheet or offcut pulled, in cutting order.
    pub layouts: Vec<Layout>,
    /// What each way of laying the sheets out came to; the layouts are of the first.
    pub tried: Vec<Tried>,
    /// What to order: a line for each size that the layouts need and that is not on hand.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub buy: Vec<Purchase>,
    /// Of this glass.
    pub figures: Figures,
}

/// What one way of laying out came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tried {
    /// Which way.
    pub style: Style,
    /// Sheets and offcuts it pulls.
    pub sheets: u32,
    /// Pieces it does not place.
    pub unplaced: u32,
    /// Breaks it takes.
    pub breaks: u32,
    /// Its figures.
    pub figures: Figures,
}

/// How pieces lie on one sheet or offcut.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// Number of the sheet map, from 1 through the whole plan.
    pub number: u32,
    /// The line of the stock list it is pulled from.
    pub stock: StockItem,
    /// Which of the equal ones of that line, from 1.
    pub copy: u32,
    /// Strip at the edge that no piece may touch, mm.
    pub edge_trim: f64,
    /// Least distance between pieces, mm.
    pub clearance: f64,
    /// The pieces.
    pub placements: Vec<Placement>,
    /// What goes back to the rack: outlines in the sheet's frame, each parted by one straight run.
    pub returned: Vec<Outline>,
    /// Which way it is laid out.
    pub style: Style,
    /// How it comes apart: its pieces are the placements by their index, its offcuts those that go back.
    pub breaking: Breaking,
    /// Of this sheet.
    pub figures: Figures,
}

/// One piece on a sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// Which piece.
    pub id: PieceId,
    /// Which one of the equal ones, from 1; spares count on after the panels' own.
    pub copy: u32,
    /// Whether it is a spare.
    pub spare: bool,
    /// From the panel's frame to the sheet's.
    pub pose: Pose,
}

/// A piece that could not be placed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unplaced {
    /// Which piece.
    pub id: PieceId,
    /// How many of it, spares included.
    pub count: u32,
    /// Why, with the nearest sheet named.
    pub reason: String,
}

/// Spares for which no further glass is pulled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SparesLeftOut {
    /// Which piece.
    pub id: PieceId,
    /// How many of its spares.
    pub count: u32,
}

/// Equal sheets to order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Purchase {
    /// The line of the stock list, which is one to buy.
    pub tag: String,
    /// How many sheets.
    pub count: u32,
    /// Price of one.
    pub each: f64,
    /// The next size up, where one is on offer and holds all the pieces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_size: Option<NextSize>,
}

/// What the next larger sheet would come to in the place of the one that is ordered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NextSize {
    /// Its line of the stock list.
    pub tag: String,
    /// How many of it.
    pub count: u32,
    /// Net cost of the whole glass with it; found with less search than the plan's own.
    pub net_cost: f64,
}
