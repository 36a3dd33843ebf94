//! What was typed: commands and options, nothing checked beyond their types.

mod checked;
pub(crate) use checked::all_of;
use checked::{above_0, part};

mod rack;
mod searching;

pub(crate) use rack::{
    AddArguments, BookArguments, CorrectArguments, PaperName, RackCommand, RackFile, RecutArguments, Units,
};
pub(crate) use searching::{CompareArguments, PlanArguments};

use crate::exit::EXPLAINED;
use clap::{ArgGroup, Parser, Subcommand};
use clap_complete::Shell;
use cullet_job::PartFile;
use cullet_rack::Signs;
use cullet_workshop::shop::WhichShop;
use std::net::IpAddr;
use std::path::PathBuf;

/// Plans how the pieces of a leaded-glass job lie on sheets and offcuts, and checks such plans.
///
/// A job file says which pieces are wanted, a stock list which glass there is. The plan that comes out has a sheet map for
/// every sheet and offcut pulled, and tells how much glass is pulled, used, returned to the rack and lost as cullet.
#[derive(Debug, Parser)]
#[command(name = "cullet", version, after_help = EXPLAINED, max_term_width = 100, disable_help_subcommand = true)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Plan a job from a stock list and write the sheet maps
    ///
    /// The job is a job file, or a piece list with a line for each piece: number, glass, shape and sizes. Writes into the folder: sheet-N.svg, the map of each sheet or offcut pulled; sheet-N-scores.svg, its scores alone for
    /// a cutting table; sheet-N-breaks.html and breaking.csv, its breaks one by one; book.html, the job book; plan.json, the whole
    /// plan; yield.csv, the figures; buy.csv, what to order where the rack is short; sheet-N.ngc and sheet-N.dxf where the shop file has a
    /// cutting table. The yield table also goes to standard output.
    /// Ctrl-C ends the search and keeps the best plan so far; a second one gives up.
    #[command(after_help = EXPLAINED)]
    Plan(PlanArguments),

    /// Start a job: from drawings, from a piece list, or an example to fill in
    ///
    /// From drawings (SVG, DXF) it writes job.json with a panel for each; from a piece list (CSV) job.json with its pieces; from
    /// nothing pieces.csv, an example with every column explained. Beside it stock.csv, with a sheet of each glass to put right. What
    /// the files do not say is assumed and told. Nothing is written over, and nothing is written where a drawing or list is faulty.
    #[command(after_help = EXPLAINED)]
    New(NewArguments),

    /// Open a folder of jobs in the browser
    ///
    /// Everything that the other commands do, by touch: a job from a drawing, glass for its pieces, the plan while it is
    /// searched for, the sheets break by break, the rack. The page is served from this machine to this machine alone, by an
    /// address that only its reader has; nothing comes from or goes to the network. Ctrl-C ends it; a search that runs then
    /// is stopped, and its best plan is kept.
    #[command(after_help = EXPLAINED)]
    Open(OpenArguments),

    /// Look after job files
    #[command(after_help = EXPLAINED)]
    Job {
        /// What to do
        #[command(subcommand)]
        command: JobCommand,
    },

    /// Compare what a job comes to under other choices: glass, sheets, lead, grind allowance
    ///
    /// Each choice is planned as often and as long as the job as it stands, with the same seeds. Writes compare.html, the table
    /// with a picture of each choice's sheets, and compare.csv; the table also goes to standard output. Where the runs of two
    /// choices overlap, it says so: their difference is then no reason to choose. `cullet plan --choice` plans the one that
    /// is chosen.
    #[command(after_help = EXPLAINED)]
    Compare(CompareArguments),

    /// Verify a plan from scratch
    ///
    /// Counts, overlaps, clearances, edges, flaws, grain, handedness, one-lot groups and areas are worked out again from the
    /// job and stock that the plan carries; the breaking orders are followed break by break. Prints one line when the plan
    /// passes, every fault when it fails.
    #[command(after_help = EXPLAINED)]
    Check {
        /// The plan.json to check
        #[arg(value_name = "PLAN.json")]
        plan: PathBuf,
    },

    /// Read a cartoon and say what cannot be built
    ///
    /// Joins the lead lines of an SVG or DXF drawing, finds the cells and what stands in them, and names every gap, loose end
    /// and piece that no score can make. Says how much lead it takes. With --out writes the drawing marked up: cells,
    /// numbers, every finding ringed. Without --job the usual came is assumed (6 mm face, 1.2 mm heart), and any word may be a glass.
    /// Layers or classes called "border", "grain", "ignore", "text" and "lead" mean what they say.
    #[command(after_help = EXPLAINED)]
    Drawing(DrawingArguments),

    /// The former name of `cullet rack book`
    #[command(hide = true)]
    Book(BookArguments),

    /// Find glass for a piece that broke, draw its map and book it
    ///
    /// Tries the offcuts of the plan's own booking first, then the rack's others, the smallest first, then sheets: what gives
    /// the piece with its allowances, keeps to its grain and its lot, and breaks out. Others that would do are shown with what
    /// each leaves. Where none does, it says which rule would have to give, and what to buy.
    #[command(after_help = EXPLAINED)]
    Recut(RecutArguments),

    /// Keep the rack: sheets and offcuts with their tags, places and history
    ///
    /// The rack is one file. Several people on one machine may use it at once; keep it on a disk of that machine, not on a
    /// network share. add and import make a new one.
    #[command(after_help = EXPLAINED)]
    Rack {
        /// What to do
        #[command(subcommand)]
        command: RackCommand,
    },

    /// Explain a command, or a topic: words, job, pieces, shapes, drawings, stock, shop, racks, choices, breaking, files
    Help {
        /// The command or topic
        #[arg(value_name = "ABOUT")]
        about: Vec<String>,
    },

    /// Write a plan's files for the cutting table, or check one
    ///
    /// The shop file describes the table. Writes sheet-N.ngc, the scores as G-code, and sheet-N.dxf, the scores as a drawing in mm, seen
    /// from the scored face; each is read back and held against the plan before it is written. With --check reads such a file and says
    /// whether it scores its map: every score once and nothing else, the wheel along its path, up in every travel, on the glass.
    #[command(after_help = EXPLAINED)]
    Table(TableFilesArguments),

    /// Print the JSON schema of the job file or the shop file
    Schema {
        /// Which file
        #[arg(value_enum, default_value_t)]
        of: SchemaOf,
    },

    /// Print completions for a shell
    Completions {
        /// Which shell
        shell: Shell,
    },

    /// Print a manual page (roff)
    Man {
        /// The command to explain [default: the program as a whole]
        #[arg(value_parser = ["plan", "new", "open", "job", "compare", "check", "drawing", "recut", "rack", "table", "help", "schema", "completions", "man"])]
        command: Option<String>,
    },
}

/// What is done to a job file.
#[derive(Debug, Subcommand)]
pub(crate) enum JobCommand {
    /// Rewrite a job file of format 1 in format 2
    ///
    /// Only what changed between the formats is touched: the format is put in, and fields with former names get their present ones.
    /// All else stays as it is written. Files of format 1 are still read, so this is never urgent.
    #[command(after_help = EXPLAINED)]
    Upgrade(UpgradeArguments),
}

#[derive(Debug, clap::Args)]
#[command(group(ArgGroup::new("where").required(true).multiple(true).args(["out", "replace"])))]
pub(crate) struct UpgradeArguments {
    /// The job file (JSON)
    #[arg(value_name = "JOB.json")]
    pub(crate) job: PathBuf,

    /// The new file to write
    #[arg(long, value_name = "FILE")]
    pub(crate) out: Option<PathBuf>,

    /// Write over the job file itself, or over the file named with --out
    #[arg(long)]
    pub(crate) replace: bool,
}

/// Which file's schema is printed.
#[derive(Debug, Clone, Copy, Default, clap::ValueEnum)]
pub(crate) enum SchemaOf {
    /// The job file
    #[default]
    Job,
    /// The shop file
    Shop,
}

/// A job and the glass for it.
#[derive(Debug, clap::Args)]
#[command(group(ArgGroup::new("glass").required(true).args(["stock", "rack"])))]
pub(crate) struct JobArguments {
    /// The job file (JSON; `cullet schema` prints its schema) or a piece list (CSV)
    #[arg(value_name = "JOB")]
    pub(crate) job: PathBuf,

    #[command(flatten)]
    pub(crate) shop: ShopArguments,

    /// The stock list (CSV): sheets and offcuts on hand or to buy
    #[arg(long, value_name = "FILE")]
    pub(crate) stock: Option<PathBuf>,

    /// The rack, instead of a stock list
    #[arg(long, value_name = "FILE")]
    pub(crate) rack: Option<PathBuf>,
}

/// What is the same in every job of a workshop.
#[derive(Debug, Clone, Default, clap::Args)]
pub(crate) struct ShopArguments {
    /// The shop file (JSON) with glasses, cames and settings for all jobs [default: shop.json beside the job or in a folder
    /// above it]
    #[arg(long, value_name = "FILE", conflicts_with = "no_shop")]
    pub(crate) shop: Option<PathBuf>,

    /// Use no shop file
    #[arg(long)]
    pub(crate) no_shop: bool,
}

impl ShopArguments {
    /// Which shop file is meant.
    pub(crate) fn which(&self) -> WhichShop {
        match &self.shop {
            Some(named) => WhichShop::Named(named.clone()),
            None if self.no_shop => WhichShop::None,
            None => WhichShop::Nearest,
        }
    }
}

#[derive(Debug, clap::Args)]
pub(crate) struct OpenArguments {
    /// The folder: jobs, drawings, stock lists, shop file, rack. It may be empty
    #[arg(value_name = "FOLDER")]
    pub(crate) folder: PathBuf,

    /// Print the address and open no browser
    #[arg(long)]
    pub(crate) no_browser: bool,

    /// The port [default: any that is free]
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    pub(crate) port: u16,

    /// Listen at this address for other machines too, such as a tablet at the bench; with --password. What is sent is not encrypted:
    /// only in a network that you trust
    #[arg(long, value_name = "ADDRESS")]
    pub(crate) listen: Option<IpAddr>,

    /// What others must type
    #[arg(long, value_name = "WORD")]
    pub(crate) password: Option<String>,
}

#[derive(Debug, clap::Args)]
pub(crate) struct NewArguments {
    /// The folder of the job; it is created if needed
    #[arg(value_name = "FOLDER")]
    pub(crate) folder: PathBuf,

    /// Drawings, or one piece list
    #[arg(value_name = "FILE")]
    pub(crate) files: Vec<PathBuf>,

    /// Millimetres in one unit of the drawings, whatever they say
    #[arg(long, value_name = "N", value_parser = above_0)]
    pub(crate) unit_mm: Option<f64>,

    /// Which part of the drawings is the panel: layer=NAME, page=NAME or frame=N, the Nth in rows from the top; may be repeated
    #[arg(long, value_name = "KIND=WHICH", value_parser = part)]
    pub(crate) part: Vec<PartFile>,

    #[command(flatten)]
    pub(crate) shop: ShopArguments,
}

#[derive(Debug, clap::Args)]
pub(crate) struct DrawingArguments {
    /// The drawing (SVG or DXF); with --job it may be left out, the panels say which
    #[arg(value_name = "FILE", required_unless_present = "job")]
    pub(crate) file: Option<PathBuf>,

    /// The job file whose settings apply: cames, layers, glasses
    #[arg(long, value_name = "JOB")]
    pub(crate) job: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) shop: ShopArguments,

    /// The panel of the job [default: every panel that names a drawing]
    #[arg(long, value_name = "ID", requires = "job")]
    pub(crate) panel: Option<String>,

    /// Millimetres in one unit of the drawing, whatever it says; in a job the panel's drawing says it
    #[arg(long, value_name = "N", conflicts_with = "job", value_parser = above_0)]
    pub(crate) unit_mm: Option<f64>,

    /// Which part of the drawing is the panel: layer=NAME, page=NAME or frame=N, the Nth in rows from the top; may be repeated. In
    /// a job the panel's drawing says it
    #[arg(long, value_name = "KIND=WHICH", conflicts_with = "job", value_parser = part)]
    pub(crate) part: Vec<PartFile>,

    /// The marked-up drawing to write (SVG); for one panel
    #[arg(long, value_name = "SVG")]
    pub(crate) out: Option<PathBuf>,

    /// The table of lead to write (CSV)
    #[arg(long, value_name = "CSV")]
    pub(crate) leads: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) tables: TableArguments,

    /// Write over files that this program did not write or that were changed since
    #[arg(long)]
    pub(crate) replace: bool,
}

#[derive(Debug, clap::Args)]
pub(crate) struct TableFilesArguments {
    /// The plan.json that the files are for
    #[arg(value_name = "PLAN.json")]
    pub(crate) plan: PathBuf,

    /// Number of the sheet map [default: all; with --check the one in the file's name]; may be repeated
    #[arg(long, value_name = "N")]
    pub(crate) sheet: Vec<u32>,

    /// The folder to write to, another than the plan's; it is created if needed
    #[arg(long, value_name = "FOLDER", required_unless_present = "check")]
    pub(crate) out: Option<PathBuf>,

    /// Check this file instead: G-code (.ngc) or DXF (.dxf)
    #[arg(long, value_name = "FILE", conflicts_with_all = ["out", "replace"])]
    pub(crate) check: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) shop: ShopArguments,

    /// Write over files there that differ from what is to be written
    #[arg(long)]
    pub(crate) replace: bool,
}

/// How tables are written.
#[derive(Debug, clap::Args)]
pub(crate) struct TableArguments {
    /// Write tables (CSV) with decimal commas and semicolons, for spreadsheets that want them
    #[arg(long)]
    pub(crate) decimal_comma: bool,
}

impl TableArguments {
    pub(crate) fn signs(&self) -> Signs {
        if self.decimal_comma {
            Signs::Commas
        } else {
            Signs::Points
        }
    }
}
