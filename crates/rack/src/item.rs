//! What the rack knows of one sheet or offcut.

use crate::StockItem;
use serde::{Deserialize, Serialize};

/// One sheet or offcut, or a sheet that can be bought, with all the rack knows of it.
#[derive(Debug, Clone, PartialEq)]
pub struct RackItem {
    /// What a plan needs to know. Its count is 1, or to buy.
    pub stock: StockItem,
    /// Which face is scored, where that is known; outlines are seen from the show face.
    pub scored_face: Option<Face>,
    /// Tag of the sheet it was cut from, or where it was bought, in the user's words.
    pub came_from: Option<String>,
    /// Where it stands in its life.
    pub state: State,
    /// Largest upright rectangle inside, mm: width and height. Flaws are not taken off.
    pub clear: (f64, f64),
    /// The plan it is promised to.
    pub held_for: Option<String>,
}

/// One of the two faces of a glass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Face {
    /// The face that is looked at.
    Show,
    /// The other one.
    Back,
}

impl Face {
    /// The word for it in lists and in the rack.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Show => "show",
            Self::Back => "back",
        }
    }

    pub(crate) fn of_word(word: &str) -> Option<Self> {
        [Self::Show, Self::Back].into_iter().find(|face| face.word() == word)
    }
}

/// Where a sheet or offcut stands in its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// Can be bought; not there yet.
    ToBuy,
    /// Stands on the rack, promised or not.
    OnRack,
    /// Went into a booked plan.
    Used,
    /// Was thrown away: broken, lost or not worth its place.
    ThrownAway,
    /// Entered by a booking that was taken back. Its tag stays taken.
    Withdrawn,
}

impl State {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::ToBuy, Self::OnRack, Self::Used, Self::ThrownAway, Self::Withdrawn];

    /// The word for it in lists and in the rack.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::ToBuy => "to buy",
            Self::OnRack => "on the rack",
            Self::Used => "used",
            Self::ThrownAway => "thrown away",
            Self::Withdrawn => "withdrawn",
        }
    }

    pub(crate) fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.word() == word)
    }
}

/// When and by whom something is done. The rack reads no clock itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stamp {
    /// Seconds since 1970-01-01 UTC.
    pub at: i64,
    /// Who does it.
    pub who: String,
}

/// Which rack a plan was made on, and how far its history had come then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RackState {
    /// The rack's own id, the same in every copy of the file.
    pub id: String,
    /// Number of the last operation in its history.
    pub revision: u64,
}
