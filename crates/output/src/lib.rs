//! What people and cutting tables get to see of a plan: sheet maps (SVG) and tables (CSV, text).
//!
//! # What it is for
//! [`sheet_map`] draws one layout for the bench, [`scores`] the score lines alone for a cutting table, [`mod@bench`] the breaks
//! of a sheet one by one, [`tables`] the yield table as text and CSV, and what lead is needed; [`marked`] draws a cartoon as
//! it was read, every finding ringed; [`labels`] are the labels of offcuts to print, [`glass_picture`] one sheet or offcut of
//! the rack.
//!
//! # Units and axes
//! SVG in millimetres: width and height in mm, a viewBox of 1 unit = 1 mm, y **down** only here. Sheet maps are seen from
//! the show face, score files from the scored face; both say so in words.
//!
//! ```
//! // One piece of 180 × 240 mm on an offcut of 300 × 400 mm, as `plan.json` has it.
//! let plan: cullet_model::Plan = serde_json::from_str(r#"{
//!   "format": "cullet-plan 5",
//!   "effort": {"seed": 1, "seconds": null, "rounds": 10},
//!   "job": {"name": "Stair window", "units": "mm", "y": "up", "glasses": [], "panels": []},
//!   "stock": {"items": []},
//!   "pieces": [{"id": {"panel": "S", "number": "12", "mirrored": false}, "glass": "P4",
//!               "finished": [[0.5, 0.5], [179.5, 0.5], [179.5, 239.5], [0.5, 239.5]],
//!               "cut": [[0, 0], [180, 0], [180, 240], [0, 240]], "grain_deg": null, "bevelled": false}],
//!   "glasses": [{"glass": "P4", "layouts": [{
//!       "number": 1, "copy": 1, "edge_trim": 8, "clearance": 6, "returned": [],
//!       "style": "shaped",
//!       "breaking": {"steps": [{"part": 0, "chain": [[60, 0], [60, 400]], "left": "cullet", "right": {"part": 1}}]},
//!       "stock": {"tag": "OC-7", "glass": "P4", "kind": "offcut", "count": {"on-hand": 1}, "place": "B2", "lot": null,
//!                 "outline": [[0, 0], [300, 0], [300, 400], [0, 400]], "grain_deg": 90, "flaws": [], "price": null},
//!       "placements": [{"id": {"panel": "S", "number": "12", "mirrored": false}, "copy": 1, "spare": false,
//!                       "pose": {"rotation_deg": 0, "turned_over": false, "x": 60, "y": 80}}],
//!       "figures": FIGURES}],
//!     "tried": [], "figures": FIGURES}],
//!   "unplaced": [],
//!   "figures": FIGURES
//! }"#.replace("FIGURES", r#"{"pulled": 120000, "used": 42781, "returned": 0, "cullet": 77219, "grinding": 419,
//!   "pieces": 1, "pulled_kg": 1.2, "used_kg": 0.43, "pulled_cost": 3.6, "returned_credit": 0}"#).as_str())?;
//! let layout = &plan.glasses[0].layouts[0];
//! // On the map and in the score file y runs down from the upper edge of the sheet. The first break is a run at its left side.
//! assert!(cullet_output::sheet_map::draw(&plan, layout).contains("M60 320L240 320L240 80L60 80Z"));
//! assert!(cullet_output::scores::draw(&plan, layout).contains("M60 400L60 0"));
//! assert!(cullet_output::tables::yield_text(&plan).contains("0.1200"));
//! assert_eq!(cullet_output::tables::yield_csv(&plan, cullet_rack::Signs::Points)?.lines().count(), 4);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # What it must not know
//! Search. It writes no files and reads no clock: the same plan gives the same text.

pub mod bench;
pub mod book;
pub mod caution;
pub mod comparison;
mod drawing;
pub mod glass_picture;
mod html;
pub mod labels;
mod lines;
pub mod marked;
mod measure;
mod number;
pub mod scores;
pub mod sheet_map;
mod source;
mod spot;
pub mod tables;
mod words;

#[cfg(test)]
mod sample;

/// The `n`-th offcut that goes back from sheet map `map`, counted from 0: `1a`, and after 26 of them `1aa`.
///
/// ```
/// assert_eq!(cullet_output::offcut_name(2, 1), "2b");
/// assert_eq!(cullet_output::offcut_name(2, 26), "2aa");
/// ```
#[must_use]
pub fn offcut_name(map: u32, n: usize) -> String {
    let letter = |k: usize| char::from(b'a' + (k % 26) as u8);
    match n / 26 {
        0 => format!("{map}{}", letter(n)),
        more => format!("{map}{}{}", letter(more - 1), letter(n)),
    }
}
