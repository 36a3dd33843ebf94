//! How a drawing is to be read: which layer or class carries what, which came follows which lines.

use crate::came::Came;
use cullet_job::Units;

/// Settings of one panel's drawing, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct CartoonSettings {
    /// The unit in which findings tell lengths to people; all lengths here are mm.
    pub units: Units,
    /// Ends and crossings nearer than this are joined; default 0.5 mm.
    pub snap: f64,
    /// The cames: the first follows every line that no other one names.
    pub cames: Vec<CameUse>,
    /// The border came, along the panel's outer edge.
    pub border: Came,
    /// What the outer line of the drawing is.
    pub border_line: BorderLine,
    /// Where the panel is foiled: what foil takes on each side of a line. Cames are then ignored.
    pub foil: Option<f64>,
    /// Which names carry what.
    pub layers: Layers,
    /// Which part of the drawing is the panel, where it holds several.
    pub part: Part,
    /// Width and height that the drawing must measure, where they are known.
    pub size: Option<[f64; 2]>,
    /// The opening in the frame, width and height, where it is known.
    pub opening: Option<[f64; 2]>,
    /// What the panel is smaller than the opening in width and in height; default 3 mm (conservation workshop notes, 2012-09).
    pub opening_clearance: f64,
    /// Whether the panel goes into a door.
    pub in_door: bool,
    /// Codes of the glasses that a text may name.
    pub glasses: Vec<String>,
    /// Whether any word without digits may be a glass, and a piece may have none: where no job says which there are.
    pub any_glass: bool,
    /// Glass of pieces that no text gives one.
    pub glass: Option<String>,
}

/// A came and the layers or classes it follows.
#[derive(Debug, Clone, PartialEq)]
pub struct CameUse {
    /// The section.
    pub came: Came,
    /// Names of layers or classes.
    pub layers: Vec<String>,
}

/// What the outer line of a drawing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BorderLine {
    /// The panel's outer edge: glass stands (F + H) / 2 off it.
    #[default]
    OuterEdge,
    /// The centre of the border came: glass stands off it as off any lead line.
    Centre,
    /// The edge of the glass itself (the cut line).
    Glass,
}

/// Which part of a drawing that holds several is the panel: all that is said here must hold of it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Part {
    /// A layer, group or class that some of its lines lie on.
    pub layer: Option<String>,
    /// Name or number of the page it lies on.
    pub page: Option<String>,
    /// The nth of those that are left, from 1, in rows from the top and each row from the left.
    pub frame: Option<usize>,
}

/// Names of layers or classes by what they carry. A name stands for a layer, for one group of a path of groups, or for a
/// class; upper and lower case are alike.
///
/// What is named here means what it is named for. Besides, layers called `border`, `grain`, `ignore` and `text` mean what
/// they say, and so does `lead` where `lead` has no names; lines on a layer `text` are no lead. What is left is a lead line,
/// unless `lead` has names.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Layers {
    /// Lead lines; with names here, lines that no list names are left out.
    pub lead: Vec<String>,
    /// The panel's outer edge.
    pub border: Vec<String>,
    /// Texts with numbers and glasses; without names here every text is read.
    pub text: Vec<String>,
    /// Grain marks.
    pub grain: Vec<String>,
    /// What is left out.
    pub ignore: Vec<String>,
}

impl Default for CartoonSettings {
    /// A came of 6 mm face and 1.2 mm heart all over, as is usual.
    fn default() -> Self {
        let came = Came::new("came", 6.0, 1.2);
        Self {
            units: Units::Millimetres,
            snap: 0.5,
            cames: vec![CameUse {
                came: came.clone(),
                layers: vec![],
            }],
            border: Came {
                name: "border".into(),
                ..came
            },
            border_line: BorderLine::OuterEdge,
            foil: None,
            layers: Layers::default(),
            part: Part::default(),
            size: None,
            opening: None,
            opening_clearance: 3.0,
            in_door: false,
            glasses: vec![],
            any_glass: false,
            glass: None,
        }
    }
}

/// What a stroke or text carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    /// A lead line with the came of this index.
    Lead(usize),
    Border,
    Grain,
    Text,
    LeftOut,
}

/// Layers that mean what they say.
const BORDER: &str = "border";
const GRAIN: &str = "grain";
const IGNORE: &str = "ignore";
const TEXT: &str = "text";
/// The same of lead lines.
pub(crate) const LEAD: &str = "lead";

impl CartoonSettings {
    /// What a stroke is.
    pub(crate) fn role(&self, layer: &str, classes: &[String]) -> Role {
        let called = |name: &str| carries(name, layer, classes);
        let named = |names: &[String]| names.iter().any(|name| called(name));
        let layers = &self.layers;
        let came = self.cames.iter().position(|use_| named(&use_.layers));
        // What was said comes before what names mean of themselves.
        if named(&layers.ignore) {
            Role::LeftOut
        } else if named(&layers.grain) {
            Role::Grain
        } else if named(&layers.border) {
            Role::Border
        } else if let Some(came) = came {
            Role::Lead(came)
        } else if named(&layers.lead) {
            Role::Lead(0)
        } else if named(&layers.text) {
            Role::Text
        } else if called(IGNORE) {
            Role::LeftOut
        } else if called(GRAIN) {
            Role::Grain
        } else if called(BORDER) {
            Role::Border
        } else if called(TEXT) {
            Role::Text
        } else if layers.lead.is_empty() {
            Role::Lead(0)
        } else {
            Role::LeftOut
        }
    }

    /// What a text is.
    pub(crate) fn text_role(&self, layer: &str, classes: &[String]) -> Role {
        let named = |names: &[String]| names.iter().any(|name| carries(name, layer, classes));
        let layers = &self.layers;
        if named(&layers.ignore) {
            Role::LeftOut
        } else if named(&layers.text) {
            Role::Text
        } else if !layers.text.is_empty() || carries(IGNORE, layer, classes) {
            Role::LeftOut
        } else {
            Role::Text
        }
    }
}

/// Whether something on `layer` and of `classes` is meant by the name.
pub(crate) fn carries(name: &str, layer: &str, classes: &[String]) -> bool {
    let alike = |other: &str| other.trim().to_lowercase() == name.trim().to_lowercase();
    alike(layer) || layer.split('/').any(alike) || classes.iter().any(|class| alike(class))
}
