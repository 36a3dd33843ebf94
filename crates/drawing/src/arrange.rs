//! Lines drawn as a workshop draws them to a planar arrangement: junctions, edges between them, and the faces they bound.
//!
//! Lines cross, touch, end just short of each other or run a little over. In order: lines that meet end to end become one
//! *course* (`course`); crossings and near touches are found (`meet`); free ends are pulled onto what they nearly reach or
//! trimmed where they run over (`ends`); places within the snap tolerance become one junction (`junction`); courses are cut
//! there, doubled edges dropped (`edge`); and the faces are walked (`face`).
//!
//! # What snapping moves
//! A free end moves by at most the snap tolerance, along its own line by at most twice that; a crossing within the tolerance
//! of another becomes one with it. Everything else stays exact to rounding: lines are lines, arcs are arcs.
//!
//! # Order
//! Everything goes by the order of the drawing: the same drawing gives the same arrangement on any machine.
//!
//! # Cost
//! O((n + k) log n) for n curves and k pairs whose upright boxes overlap. All three of [`MOST_CURVES`], [`MOST_PAIRS`] and
//! [`MOST_MEETINGS`] are held to while they are counted, so that lines drawn over each other a thousand times take no more.

mod course;
mod edge;
mod ends;
mod face;
mod grid;
mod junction;
mod meet;

pub use edge::Edge;
pub(crate) use face::is_inside;
pub use face::{Face, Side};

use crate::curve::Curve;
use cullet_geometry::Point;

/// Ends nearer than this, mm, were drawn as one point: rounding of files with three decimals.
pub(crate) const WELD_MM: f64 = 2e-3;

/// Most lines and arcs that are joined: a window of 20 000 pieces in freely drawn curves has some 400 000.
pub const MOST_CURVES: usize = 500_000;
/// Most pairs of them that lie near enough each other to be looked at; real windows have some ten to each curve.
pub const MOST_PAIRS: usize = 10_000_000;
/// Most meetings of a line with another: a panel of 10 000 pieces has some 30 000.
pub const MOST_MEETINGS: usize = 60_000;

/// More than is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooMuch {
    /// How many there may be.
    pub most: usize,
    /// Of what.
    pub what: &'static str,
}

/// A line as it was drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Its curves, end to end.
    pub curves: Vec<Curve>,
    /// Whether it ends where it begins.
    pub closed: bool,
    /// Which came follows it; lines of different came are not joined into one.
    pub came: usize,
}

/// What the lines make.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Arrangement {
    /// Where edges meet or end, mm.
    pub junctions: Vec<Point>,
    /// Parts of lines from junction to junction, crossing nothing on the way.
    pub edges: Vec<Edge>,
    /// Parts of lines that bound no face, since one end is free.
    pub loose: Vec<Edge>,
    /// The bounded faces, in the order of their first edge.
    pub faces: Vec<Face>,
    /// The outer boundary of each connected part, walked with the part on the right, in the order of its first edge.
    pub outsides: Vec<Vec<Side>>,
    /// What is not as it should be, in the drawing's order.
    pub troubles: Vec<Trouble>,
}

/// Something about the lines that wants looking at.
#[derive(Debug, Clone, PartialEq)]
pub struct Trouble {
    /// What.
    pub kind: TroubleKind,
    /// Where, mm.
    pub at: Point,
    /// The drawn lines it is about, by their index.
    pub lines: Vec<usize>,
}

/// Kinds of [`Trouble`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TroubleKind {
    /// A line ends with nothing near.
    OpenEnd,
    /// A line ends short of another by more than the snap tolerance.
    Gap {
        /// How wide the gap is, mm.
        width: f64,
    },
    /// A line runs over the one it should end at by more than the snap tolerance.
    Overhang {
        /// How far, mm.
        length: f64,
    },
    /// Two lines lie on each other.
    Doubled {
        /// Along how much, mm.
        length: f64,
    },
}

/// Joins the lines; `snap` is the tolerance in mm, positive.
///
/// # Errors
/// Where there are more than [`MOST_CURVES`], [`MOST_PAIRS`] or [`MOST_MEETINGS`].
///
/// ```
/// use cullet_drawing::arrange::{Drawn, arrange};
/// use cullet_drawing::curve::{Curve, point};
/// let line = |x0, y0, x1, y1| Drawn { curves: vec![Curve::line(point(x0, y0), point(x1, y1))], closed: false, came: 0 };
/// let circle = Drawn { curves: vec![Curve::arc(point(0.0, 0.0), 50.0, 0.0, 360.0)], closed: true, came: 0 };
/// // A roundel and a bar across it that ends 0.2 mm short on one side and runs 0.3 mm over on the other.
/// let found = arrange(&[circle, line(-49.8, 0.0, 50.3, 0.0)], 0.5)?;
/// assert_eq!((found.junctions.len(), found.edges.len(), found.faces.len()), (2, 3, 2));
/// let area: f64 = found.faces.iter().map(|face| face.area).sum();
/// assert!((area - std::f64::consts::PI * 2500.0).abs() < 1e-9);
/// # Ok::<(), cullet_drawing::arrange::TooMuch>(())
/// ```
pub fn arrange(lines: &[Drawn], snap: f64) -> Result<Arrangement, TooMuch> {
    if lines.iter().map(|line| line.curves.len()).sum::<usize>() > MOST_CURVES {
        return Err(TooMuch {
            most: MOST_CURVES,
            what: "lines and arcs",
        });
    }
    let courses = course::chain(lines);
    let index = meet::Index::new(&courses);
    let mut cuts = meet::crossings(&courses, &index, snap)?;
    let troubles = ends::join(&courses, &index, &mut cuts, snap)?;
    let places = cuts.places.len();
    let joined = |merge: f64, follows: f64| build(&courses, &index, cuts.clone(), troubles.clone(), merge, follows);
    // Places that merge move lines a little. Where many lie so near each other that the moved lines would cross, shorter
    // stretches follow and fewer are merged: Euler's formula tells.
    let mut found = joined(snap, FOLLOWS[0]);
    let shares = [1.0].into_iter().chain(MERGE_SHARES);
    let ways = shares.flat_map(|share| FOLLOWS.map(|follows| (share, follows)));
    // Each way takes seconds where there are very many.
    let most_ways = 2 * MOST_MEETINGS / places.max(1);
    for (share, follows) in ways.take(most_ways).skip(1) {
        if found.obeys_euler() {
            break;
        }
        found = joined(snap * share, follows);
    }
    Ok(found)
}

/// Shares of the snap tolerance within which places merge, where the whole of it tangles the lines.
const MERGE_SHARES: [f64; 3] = [0.2, 0.02, 1e-4];
/// How many times as long as an end's move the stretch is that follows it: by a hundredth of a radian, which no eye sees; or,
/// where that tangles the lines, by as little as may be.
const FOLLOWS: [f64; 2] = [100.0, 3.0];

fn build(
    courses: &[course::Course],
    index: &meet::Index,
    mut cuts: meet::Cuts,
    mut troubles: Vec<Trouble>,
    merge: f64,
    follows: f64,
) -> Arrangement {
    let mut junctions = junction::settle(courses, index, &mut cuts, merge);
    let mut edges = edge::cut(courses, &cuts, &mut junctions, merge, follows);
    troubles.extend(edge::drop_doubled(&mut edges, merge));
    let loose = edge::prune(&mut edges, junctions.points.len());
    troubles.sort_by(|a, b| a.lines.cmp(&b.lines));
    face::walk(junctions.points, edges, loose, troubles)
}

impl Arrangement {
    /// Whether V − E + F = 1 + C holds for its junctions, edges, faces (the outside counted) and connected parts, as it must
    /// for lines that cross nowhere but in junctions (Euler).
    #[must_use]
    pub fn obeys_euler(&self) -> bool {
        let mut used = vec![false; self.junctions.len()];
        for edge in &self.edges {
            used[edge.from] = true;
            used[edge.to] = true;
        }
        let junctions = used.into_iter().filter(|used| *used).count();
        junctions + self.faces.len() == self.edges.len() + self.outsides.len()
    }
}

/// The lines chained end to end, nothing else joined: whether each chain is closed, its curves, and its first line.
#[must_use]
pub(crate) fn chains(lines: &[Drawn]) -> Vec<(bool, Vec<Curve>, usize)> {
    let chained = course::chain(lines).into_iter();
    chained
        .map(|c| (c.closed, c.curves, c.sources.first().copied().unwrap_or_default()))
        .collect()
}
