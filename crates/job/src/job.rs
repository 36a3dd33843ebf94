//! The checked job: millimetres, outlines flattened, cut outlines worked out.

use crate::list::{self, Lines};
use crate::shape::Gaps;
use crate::shop::Taken;
use crate::{
    ChoiceFile, Finding, Findings, JobFile, LayoutFile, PriceUnit, Report, Shop, build, format, json, shape, shapes,
};
use cullet_geometry::Outline;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;

/// A job that can be planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// What it is called.
    pub name: String,
    /// The file it came from, for a plan to carry along.
    pub source: JobFile,
    /// Width a score may wander, mm.
    pub score_kerf: f64,
    /// Furthest a flattened curve may lie outside the drawn one, mm.
    pub curve_tolerance: f64,
    /// Keep rule, mm: an offcut is kept when a rectangle this wide both ways fits inside.
    pub keep: f64,
    /// Share of its price at which offcuts are credited.
    pub credit_rate: f64,
    /// Most that a score may change its direction over any stretch shorter than `bend_length`, degrees.
    pub sharpest_turn_deg: f64,
    /// The stretch over which a score's bend is measured, mm.
    pub bend_length: f64,
    /// Radius of the tightest curve that is broken along the outline of a piece, mm.
    pub tightest_curve: f64,
    /// By how much the sides of a break must be clear of each other as they are pulled apart, degrees.
    pub pull_margin_deg: f64,
    /// Its glasses, in the file's order.
    pub glasses: Vec<Glass>,
    /// Its panels, in the file's order.
    pub panels: Vec<Panel>,
    /// Every kind of piece to cut: one entry for a panel's piece as drawn, another for its mirror image where mirrored
    /// panels are made. In the file's order.
    pub pieces: Vec<Piece>,
    /// Pieces that cannot be made as this choice has them and were left out; see [`Job::read_choice`]. Empty otherwise: a
    /// job with such a piece is refused.
    pub impossible: Vec<Impossible>,
    /// What was taken from the shop file, and what was assumed because a piece list does not say it; a line each.
    pub notes: Vec<String>,
}

/// What a job is read with besides its own text.
#[derive(Debug, Clone, Copy, Default)]
pub struct ReadWith<'a> {
    /// The shop file that completes it.
    pub shop: Option<&'a Shop>,
    /// The choice that changes it; pieces that cannot be made so stand in [`Job::impossible`].
    pub choice: Option<&'a ChoiceFile>,
}

/// A piece that cannot be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Impossible {
    /// Which piece.
    pub id: PieceId,
    /// How many the panels need.
    pub quantity: u32,
    /// Why.
    pub why: Finding,
}

/// A kind of glass, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Glass {
    /// Short code.
    pub code: String,
    /// What it is called.
    pub name: String,
    /// Thickness, mm.
    pub thickness: f64,
    /// Texture in words.
    pub texture: String,
    /// Its grain.
    pub grain: Grain,
    /// Whether a piece without bevel may be turned over.
    pub may_turn_over: bool,
    /// Whether the scored face is the show face; if not, the table sees the mirror image.
    pub scored_on_show_face: bool,
    /// Grinding allowance on every edge, mm.
    pub grind_allowance: f64,
    /// Narrowest strip that breaks out, mm.
    pub narrowest_strip: f64,
    /// Strip taken off a sheet's edges, mm.
    pub edge_trim: f64,
    /// How sheets of it are laid out.
    pub layout: LayoutFile,
    /// Price per mm² (from the file's price and unit).
    pub price_per_mm2: f64,
    /// Price as the user wrote it.
    pub price: (f64, PriceUnit),
}

/// What the grinder takes off an edge besides the grind allowance at most, mm; common practice.
const MOST_GROUND_OFF: f64 = 0.5;

impl Glass {
    /// Waste along a piece that is no thicker than this is ground off with the allowance instead of being scored, mm: as much
    /// again as the grind allowance, at most 0.5.
    #[must_use]
    pub fn ground_off(&self) -> f64 {
        self.grind_allowance.min(MOST_GROUND_OFF)
    }
}

/// Grain of a glass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Grain {
    /// None: free rotation.
    None,
    /// Along the reeds either way, within a tolerance in degrees.
    TwoWays {
        /// Degrees either way.
        tolerance: f64,
    },
    /// One direction only, within a tolerance in degrees.
    OneWay {
        /// Degrees either way.
        tolerance: f64,
    },
}

/// One panel of the job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Panel {
    /// Short id.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// How many as drawn.
    pub quantity: u32,
    /// How many as the mirror image.
    pub mirrored_quantity: u32,
}

/// Which piece: the user's panel id and piece number, and whether it is the mirror image.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct PieceId {
    /// Panel id.
    pub panel: String,
    /// Piece number.
    pub number: String,
    /// Whether it belongs to the mirrored panels.
    pub mirrored: bool,
}

impl fmt::Display for PieceId {
    /// Its one name, as it is printed and typed: `T-12`, of the mirrored panel `T-12m`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}-{}{}",
            self.panel,
            self.number,
            if self.mirrored { "m" } else { "" }
        )
    }
}

/// One kind of piece to cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Which piece.
    pub id: PieceId,
    /// Index of its glass in [`Job::glasses`].
    pub glass: usize,
    /// What goes into the came, mm, where it lies in the (mirrored) panel, seen from the show face.
    pub finished: Outline,
    /// Finished outline + grind allowance. The score kerf widens the clearance between pieces, not the piece.
    pub cut: Outline,
    /// Direction of its grain in the same frame, degrees; meaningless for glass without grain.
    pub grain_deg: f64,
    /// Whether it may be cut turned over: the glass allows it and it has no bevel.
    pub may_turn_over: bool,
    /// Its bevel.
    pub bevel: Option<Bevel>,
    /// One-lot group.
    pub one_lot: Option<String>,
    /// How many the panels need.
    pub quantity: u32,
    /// How many in addition against breakage.
    pub spares: u32,
}

/// A bevel all round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bevel {
    /// Width on the face, mm.
    pub width: f64,
    /// Thickness left at the edge, mm.
    pub nose: f64,
    /// Angle to the face, degrees: atan((t − nose) / width).
    pub angle_deg: f64,
}

impl Job {
    /// Reads, checks and works out a job file; `file` is its name for messages.
    ///
    /// # Errors
    /// Everything that is wrong with it, at once.
    pub fn read(file: &str, text: &str) -> Result<Self, Findings> {
        Self::read_with(file, text, |_, _| {})
    }

    /// The same, with panels that name drawings: `expand` puts their pieces in and takes the drawing out, or reports why it
    /// cannot, between the checks of the fields and those of the pieces.
    ///
    /// # Errors
    /// Everything that is wrong with the job and its drawings, at once.
    pub fn read_with(file: &str, text: &str, expand: impl FnOnce(&mut JobFile, &mut Report)) -> Result<Self, Findings> {
        Self::read_as(file, text, ReadWith::default(), expand)
    }

    /// The job as `choice` changes it. Pieces whose bevel cannot be ground so are left out and stand in [`Job::impossible`].
    ///
    /// # Errors
    /// Everything that is wrong with the job, its drawings and the choice, at once.
    ///
    /// ```
    /// # let text = r#"{"name": "Fanlight", "units": "mm", "y": "up", "glasses": [
    /// #   {"code": "C6", "name": "clear", "thickness": 6, "grain": "none", "may_turn_over": true, "scored_face": "show",
    /// #    "grind_allowance": 0.5, "price": 40, "price_unit": "m2"},
    /// #   {"code": "C4", "name": "clear", "thickness": 4, "grain": "none", "may_turn_over": true, "scored_face": "show",
    /// #    "grind_allowance": 0.5, "price": 30, "price_unit": "m2"}],
    /// #   "panels": [{"id": "F", "quantity": 2, "pieces": [
    /// #     {"number": "1", "glass": "C6", "outline": [[0, 0], [120, 0], [120, 80], [0, 80]], "bevel": {"width": 30, "nose": 3}}
    /// #   ]}]}"#;
    /// use cullet_job::{ChoiceFile, Job};
    /// assert_eq!(Job::read("fanlight.json", text)?.pieces.len(), 1);
    /// // 25 mm is the widest bevel on 4 mm glass, and this one is 30.
    /// let thinner = ChoiceFile::typed("C6=C4").unwrap();
    /// let job = Job::read_choice("fanlight.json", text, &thinner, |_, _| {})?;
    /// assert_eq!((job.pieces.len(), job.impossible[0].quantity), (0, 2));
    /// # Ok::<(), cullet_job::Findings>(())
    /// ```
    pub fn read_choice(
        file: &str,
        text: &str,
        choice: &ChoiceFile,
        expand: impl FnOnce(&mut JobFile, &mut Report),
    ) -> Result<Self, Findings> {
        let with = ReadWith {
            choice: Some(choice),
            ..ReadWith::default()
        };
        Self::read_as(file, text, with, expand)
    }

    /// Reads a job file or, by the ending of its name (`.csv`, `.tsv`, `.txt`), a piece list, completed from a shop file and as a
    /// choice changes it; `expand` as in [`Job::read_with`].
    ///
    /// # Errors
    /// Everything that is wrong with it, at once; of a list by line and column.
    ///
    /// ```
    /// use cullet_job::{Job, ReadWith};
    /// let list = "number;glass;width;height;quantity;units;thickness\n1;CL;120,5;80;4;mm;3\n";
    /// let job = Job::read_as("porch.csv", list, ReadWith::default(), |_, _| {})?;
    /// assert_eq!((job.name.as_str(), job.pieces[0].quantity), ("porch", 4));
    /// assert_eq!(job.pieces[0].finished.bounds().width(), 120.5);
    /// # Ok::<(), cullet_job::Findings>(())
    /// ```
    pub fn read_as(
        file: &str,
        text: &str,
        with: ReadWith<'_>,
        expand: impl FnOnce(&mut JobFile, &mut Report),
    ) -> Result<Self, Findings> {
        let mut report = Report::new(file);
        if !list::is_one(file, text) {
            let tree = json::parse(file, text, "a job")?;
            return Self::from_tree(report, tree, with, None, expand);
        }
        match list::read(&mut report, text, with.shop.map(|shop| shop.units().code())) {
            Some((tree, lines)) => Self::from_tree(report, tree, with, Some(&lines), expand),
            None => Err(Findings(report.into_findings())),
        }
    }

    /// The same from a parsed file, as a plan carries it.
    ///
    /// # Errors
    /// Everything that is wrong with it, at once.
    pub fn from_file(file: &str, source: JobFile) -> Result<Self, Findings> {
        // Through the same checks as a text. A NaN becomes `null` here and is reported as such.
        match serde_json::to_value(&source) {
            Ok(tree) => Self::from_tree(Report::new(file), tree, ReadWith::default(), None, |_, _| {}),
            Err(error) => Err(unreadable(file, &error)),
        }
    }

    /// The schema of the job file (JSON Schema 2020-12), as generated from [`JobFile`].
    #[must_use]
    pub fn schema() -> serde_json::Value {
        shape::printed_schema()
    }

    fn from_tree(
        mut report: Report,
        mut tree: serde_json::Value,
        with: ReadWith<'_>,
        lines: Option<&Lines>,
        expand: impl FnOnce(&mut JobFile, &mut Report),
    ) -> Result<Self, Findings> {
        let file = report.file().to_owned();
        format::to_present(&mut report, &mut tree);
        let taken = with
            .shop
            .map(|shop| shop.complete(&mut tree, &mut report))
            .unwrap_or_default();
        let mut notes = match lines {
            Some(_) => list::assume(&mut report, &mut tree),
            None => vec![],
        };
        shape::stand_upright(&mut tree);
        let gaps = shape::check(&mut report, &mut tree);
        let is_reported = !report.findings().is_empty();
        let job = match serde_json::from_value(tree) {
            Ok(source) => {
                let (mut job, used) = Self::work_out(source, &mut report, with.choice, &gaps, &taken, expand);
                notes.extend(with.shop.and_then(|shop| shop.note(&taken, &used)));
                job.notes = notes;
                report.into_result(job)
            }
            Err(_) if is_reported => Err(Findings(report.into_findings())),
            Err(error) => Err(unreadable(&file, &error)),
        };
        job.map_err(|Findings(found)| match lines {
            Some(lines) => Findings(found.into_iter().map(|finding| lines.place(finding)).collect()),
            None => Findings(found),
        })
    }

    /// From the checked fields to the job, and the codes of the glasses that it uses.
    fn work_out(
        mut source: JobFile,
        report: &mut Report,
        choice: Option<&ChoiceFile>,
        gaps: &Gaps,
        taken: &Taken,
        expand: impl FnOnce(&mut JobFile, &mut Report),
    ) -> (Self, BTreeSet<String>) {
        if let Some(choice) = choice {
            choice.check(&source, report);
            choice.change_drawings(&mut source, report);
        }
        let drawn: Vec<bool> = source.panels.iter().map(|panel| panel.drawing.is_some()).collect();
        expand(&mut source, report);
        for (panel, _) in source.panels.iter().zip(drawn).filter(|(_, drawn)| *drawn) {
            build::check_drawn(report, panel);
        }
        if let Some(choice) = choice {
            choice.change_pieces(&mut source);
        }
        shapes::draw_all(&mut source, report, build::named);
        let used = used(&source);
        // Where something is wrong the glasses that could have been meant are told.
        if report.findings().is_empty() && source.panels.iter().all(|panel| panel.drawing.is_none()) {
            let is_known = |code: &String| source.glasses.iter().any(|glass| glass.code == *code);
            if used.iter().all(is_known) {
                let is_kept = |code: &String| !taken.glasses.contains(code) || used.contains(code);
                source.glasses.retain(|glass| is_kept(&glass.code));
            }
        }
        (build::build(report, source, gaps, choice.is_some()), used)
    }
}

/// Codes of glasses that pieces or choices name.
fn used(source: &JobFile) -> BTreeSet<String> {
    let pieces = source
        .panels
        .iter()
        .flat_map(|panel| &panel.pieces)
        .map(|piece| &piece.glass);
    let changes = source.choices.iter().flat_map(|choice| &choice.glasses);
    let changes = changes
        .flat_map(|change| [Some(&change.code), change.instead.as_ref()])
        .flatten();
    pieces.chain(changes).cloned().collect()
}

/// For what the schema lets through and the types do not: none is known, but a file must never be refused without a word.
fn unreadable(file: &str, error: &serde_json::Error) -> Findings {
    let mut report = Report::new(file);
    report.add(
        "the job",
        error.to_string(),
        "a job file",
        "Compare it with the job file's schema.",
    );
    Findings(report.into_findings())
}
