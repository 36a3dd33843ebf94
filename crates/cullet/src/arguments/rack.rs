//! What was typed after `cullet rack`.

use super::TableArguments;
use crate::exit::EXPLAINED;
use clap::{Subcommand, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Subcommand)]
pub(crate) enum RackCommand {
    /// Enter a sheet or offcut, or several equal ones
    ///
    /// Without a tag it is given one: write it on the glass. Tags are never used twice.
    Add(Box<AddArguments>),

    /// List what is on the rack and what can be bought
    List {
        #[command(flatten)]
        file: RackFile,
        /// Only this glass
        #[arg(long, value_name = "CODE")]
        glass: Option<String>,
        /// Also what is used, thrown away or withdrawn
        #[arg(long)]
        all: bool,
    },

    /// Find glass with room for a rectangle, the smallest first
    ///
    /// The rectangle may lie either way round, its sides along those of the glass. Flaws are not taken off: see the column.
    Find {
        #[command(flatten)]
        file: RackFile,
        /// Only this glass
        #[arg(long, value_name = "CODE")]
        glass: Option<String>,
        /// Smallest size, such as 300x200; in inches also "12 1/2x8"
        #[arg(long, value_name = "WxH")]
        size: String,
        /// Unit of the size [default: that of the rack]
        #[arg(long)]
        units: Option<Units>,
        /// How many to show
        #[arg(long, value_name = "N", default_value_t = 20)]
        most: usize,
    },

    /// Show all that is known of one sheet or offcut, and what became of it
    Show {
        #[command(flatten)]
        file: RackFile,
        /// Its tag
        tag: String,
        /// Also draw it (SVG)
        #[arg(long, value_name = "SVG")]
        out: Option<PathBuf>,
        /// Write over a file that this program did not write or that was changed since
        #[arg(long)]
        replace: bool,
    },

    /// Correct what is recorded of a sheet or offcut
    ///
    /// Fields left out stay as they are; the old values go into the history. '' empties a field.
    Correct(Box<CorrectArguments>),

    /// Throw glass away: broken, lost, not worth its place; or take what can be bought off the list
    ThrowAway {
        #[command(flatten)]
        file: RackFile,
        /// The tags
        #[arg(required = true)]
        tags: Vec<String>,
        /// Why, for the history
        #[arg(long, value_name = "WORDS", default_value = "")]
        why: String,
    },

    /// Show what was done, by whom and when
    History {
        #[command(flatten)]
        file: RackFile,
        /// Only what was done to this sheet or offcut
        tag: Option<String>,
        /// How many entries to show, the last ones
        #[arg(long, value_name = "N", default_value_t = 50)]
        most: u32,
    },

    /// Enter all lines of a stock list (CSV); all of them or none
    Import {
        #[command(flatten)]
        file: RackFile,
        /// The list
        #[arg(value_name = "CSV")]
        list: PathBuf,
    },

    /// Write the rack as a stock list (CSV) that reads back to the last digit
    Export {
        #[command(flatten)]
        file: RackFile,
        /// The list to write [default: standard output]
        #[arg(value_name = "CSV")]
        list: Option<PathBuf>,
        #[command(flatten)]
        tables: TableArguments,
        /// Write over a file that this program did not write or that was changed since
        #[arg(long)]
        replace: bool,
    },

    /// Make a page of labels to print (HTML): tag, glass, size, grain, outline, QR code of the tag
    Labels {
        #[command(flatten)]
        file: RackFile,
        /// Which ones [default: every offcut on the rack]
        tags: Vec<String>,
        /// The page to write; open it in a browser and print it at 100 %
        #[arg(long, value_name = "HTML")]
        out: PathBuf,
        /// The paper
        #[arg(long, default_value = "a4")]
        paper: PaperName,
        /// Write over a file that this program did not write or that was changed since
        #[arg(long)]
        replace: bool,
    },

    /// Make a whole copy of the rack, while others may be at work on it
    ///
    /// A copy of the file alone may lack the last bookings as long as another program has the rack open; this one does not.
    Backup {
        #[command(flatten)]
        file: RackFile,
        /// The copy to make; a new name
        #[arg(value_name = "COPY")]
        copy: PathBuf,
    },

    /// Book a plan that has been cut: sheets out of the rack, offcuts in
    ///
    /// The plan is verified first. Offcuts get new tags, printed for each sheet map: write them on the glass. Booking twice is
    /// refused, and so is a plan whose glass has gone or changed; what else was done at the rack since the plan was made is
    /// listed. All of it is booked or nothing.
    #[command(after_help = EXPLAINED)]
    Book(BookArguments),

    /// Release the glass that is held for a plan
    Release {
        #[command(flatten)]
        file: RackFile,
        /// The plan: its plan.json
        #[arg(value_name = "PLAN.json", required_unless_present = "holding")]
        plan: Option<PathBuf>,
        /// If the plan file is lost: the tag of any sheet or offcut held for it
        #[arg(long, value_name = "TAG", conflicts_with = "plan")]
        holding: Option<String>,
    },

    /// Say in which unit people read this rack: its lists, labels and bookings
    ///
    /// Sizes are kept as they are; a job prints in its own unit. A new rack is read in millimetres.
    Units {
        #[command(flatten)]
        file: RackFile,
        /// The unit [default: only say which it is]
        units: Option<Units>,
    },

    /// Check the file, and that everything received is on the rack, used, cullet or thrown away
    Audit {
        #[command(flatten)]
        file: RackFile,
    },
}

/// Which rack.
#[derive(Debug, clap::Args)]
pub(crate) struct RackFile {
    /// The rack
    #[arg(long = "rack", value_name = "FILE")]
    pub(crate) path: PathBuf,
}

#[derive(Debug, clap::Args)]
pub(crate) struct AddArguments {
    #[command(flatten)]
    pub(crate) file: RackFile,
    /// sheet or offcut
    pub(crate) kind: String,
    /// What is written on the glass, or a name for several or for what can be bought [default: a new one]
    #[arg(long)]
    pub(crate) tag: Option<String>,
    /// How many, or buy for sheets that can be bought
    #[arg(long, value_name = "N", default_value = "1")]
    pub(crate) count: String,
    #[command(flatten)]
    pub(crate) said: SaidArguments,
}

#[derive(Debug, clap::Args)]
pub(crate) struct CorrectArguments {
    #[command(flatten)]
    pub(crate) file: RackFile,
    /// Its tag
    pub(crate) tag: String,
    #[command(flatten)]
    pub(crate) said: SaidArguments,
}

/// What may be said of a sheet or offcut: the columns of the stock list.
#[derive(Debug, clap::Args)]
pub(crate) struct SaidArguments {
    /// Code of the glass
    #[arg(long, value_name = "CODE", allow_hyphen_values = true)]
    pub(crate) glass: Option<String>,
    /// Unit of all lengths: mm or in [default: mm]
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) units: Option<String>,
    /// Width
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) width: Option<String>,
    /// Height
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) height: Option<String>,
    /// Corners of an offcut: "x y; x y; x y", or SVG path data
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) outline: Option<String>,
    /// Direction of the grain, degrees counter-clockwise from the right [default: 90, upwards]
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub(crate) grain: Option<String>,
    /// Lot (batch)
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) lot: Option<String>,
    /// Where it stands
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) place: Option<String>,
    /// Zones to keep off: "x y radius" or "x y; x y; x y", separated by |
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) flaws: Option<String>,
    /// Price of one, where it differs from area times the glass's price
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) price: Option<String>,
    /// Which face is scored: show or back
    #[arg(long, value_name = "FACE")]
    pub(crate) scored_face: Option<String>,
    /// The sheet it was cut from, or where it was bought
    #[arg(long, alias = "came-from", value_name = "WORDS", allow_hyphen_values = true)]
    pub(crate) source: Option<String>,
}

impl SaidArguments {
    /// What was said, by the names of the columns.
    pub(crate) fn said(&self) -> Vec<(&str, &str)> {
        let all = [
            ("glass", &self.glass),
            ("units", &self.units),
            ("width", &self.width),
            ("height", &self.height),
            ("outline", &self.outline),
            ("grain", &self.grain),
            ("lot", &self.lot),
            ("place", &self.place),
            ("flaws", &self.flaws),
            ("price", &self.price),
            ("scored_face", &self.scored_face),
            ("source", &self.source),
        ];
        all.into_iter()
            .filter_map(|(column, text)| Some((column, text.as_deref()?)))
            .collect()
    }
}

#[derive(Debug, clap::Args)]
pub(crate) struct BookArguments {
    /// The plan that has been cut: its plan.json
    #[arg(value_name = "PLAN.json")]
    pub(crate) plan: PathBuf,
    #[command(flatten)]
    pub(crate) file: RackFile,
    /// Undo the booking, as long as nothing from it has been used or held since
    #[arg(long, conflicts_with = "place")]
    pub(crate) undo: bool,
    /// Where the offcuts are put
    #[arg(long, value_name = "PLACE", default_value = "")]
    pub(crate) place: String,
}

#[derive(Debug, clap::Args)]
pub(crate) struct RecutArguments {
    /// The plan that the pieces belong to: its plan.json
    #[arg(value_name = "PLAN.json")]
    pub(crate) plan: PathBuf,
    /// A piece that broke, panel and number as on its label: T-12, or T-12m where it is mirrored; may be repeated
    #[arg(long = "piece", value_name = "PIECE", required = true)]
    pub(crate) pieces: Vec<String>,
    #[command(flatten)]
    pub(crate) file: RackFile,
    /// The folder for the map and its breaks; it is created if needed
    #[arg(long, value_name = "FOLDER")]
    pub(crate) out: PathBuf,
    /// Write over files there that this program did not write or that were changed since
    #[arg(long)]
    pub(crate) replace: bool,
    /// Only show what could be used; write and book nothing
    #[arg(long)]
    pub(crate) look: bool,
    /// How many alternatives to show
    #[arg(long, value_name = "N", default_value_t = 3)]
    pub(crate) others: usize,
    /// Use this sheet or offcut (tag)
    #[arg(long, value_name = "TAG")]
    pub(crate) from: Option<String>,
    /// Place for what is left
    #[arg(long, value_name = "PLACE", default_value = "")]
    pub(crate) place: String,
    #[command(flatten)]
    pub(crate) tables: TableArguments,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    /// Millimetres
    Mm,
    /// Inches
    In,
}

impl Units {
    pub(crate) fn of_job(self) -> cullet_job::Units {
        match self {
            Self::Mm => cullet_job::Units::Millimetres,
            Self::In => cullet_job::Units::Inches,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperName {
    /// 210 × 297 mm
    A4,
    /// 8½ × 11 in
    Letter,
}
