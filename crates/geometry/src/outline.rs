//! The simple polygon that every crate passes around.

use crate::{Point, Pose, simple};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A simple polygon of positive area, counter-clockwise, first point not repeated; millimetres, y up.
///
/// Made only by [`Outline::new`], which checks all of this, so whoever holds one need not check again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Vec<[f64; 2]>", into = "Vec<[f64; 2]>")]
pub struct Outline {
    points: Vec<Point>,
}

/// Why a list of points is not an outline.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlineError {
    /// Fewer than three different points.
    #[error("it has {found} different points, at least 3 are needed")]
    TooFewPoints {
        /// How many different points there are.
        found: usize,
    },
    /// A coordinate is NaN or infinite.
    #[error("point {index} is not a number: ({x}, {y})")]
    NotFinite {
        /// Position in the list, from 0.
        index: usize,
        /// The x found.
        x: f64,
        /// The y found.
        y: f64,
    },
    /// A coordinate is too far out for the integer grid.
    #[error("point {index} lies {reach} mm from the origin, at most 100 000 mm can be handled")]
    TooFar {
        /// Position in the list, from 0.
        index: usize,
        /// The larger absolute coordinate.
        reach: f64,
    },
    /// Two sides meet where they should not.
    #[error("its sides cross or touch at ({x:.3}, {y:.3})")]
    SelfCrossing {
        /// Where, in millimetres.
        x: f64,
        /// Where, in millimetres.
        y: f64,
    },
    /// The points enclose nothing.
    #[error("it encloses no area")]
    Empty,
    /// More points than the limit.
    #[error("it has {found} points, at most {limit} can be handled")]
    TooManyPoints {
        /// How many there are.
        found: usize,
        /// The limit.
        limit: usize,
    },
}

/// An upright box around something, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Lower left corner.
    pub min: Point,
    /// Upper right corner.
    pub max: Point,
}

impl Bounds {
    /// Size across, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// Size upwards, mm.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }
}

/// The most points one outline may have.
pub const MOST_POINTS: usize = 100_000;

/// The largest coordinate, mm: 100 m, which leaves room for offsets within the integer grid's fast range (±107 m).
const FARTHEST_MM: f64 = 100_000.0;

impl Outline {
    /// Checks the points and makes an outline of them; a clockwise list is turned round, points repeated one after
    /// another (the first at the end too) are dropped. Points along a straight side are kept.
    ///
    /// A side that goes back along the one before it (a spike) and a corner that touches another side count as
    /// self-crossing. The test is exact for the numbers given: sides a hair apart are apart. Cost O(n log n).
    ///
    /// # Errors
    /// The first thing wrong with the list, see [`OutlineError`].
    ///
    /// ```
    /// use cullet_geometry::{Outline, OutlineError, Point};
    /// let p = |x, y| Point { x, y };
    /// let pane = Outline::new(vec![p(0.0, 0.0), p(0.0, 50.0), p(80.0, 50.0), p(80.0, 0.0), p(0.0, 0.0)])?;
    /// assert_eq!(pane.points().len(), 4);
    /// assert_eq!(pane.area(), 4000.0);
    /// let bow_tie = Outline::new(vec![p(0.0, 0.0), p(10.0, 10.0), p(10.0, 0.0), p(0.0, 10.0)]);
    /// assert_eq!(bow_tie, Err(OutlineError::SelfCrossing { x: 5.0, y: 5.0 }));
    /// # Ok::<(), OutlineError>(())
    /// ```
    pub fn new(points: Vec<Point>) -> Result<Self, OutlineError> {
        if points.len() > MOST_POINTS + 1 {
            return Err(OutlineError::TooManyPoints {
                found: points.len(),
                limit: MOST_POINTS,
            });
        }
        for (index, p) in points.iter().enumerate() {
            if !(p.x.is_finite() && p.y.is_finite()) {
                return Err(OutlineError::NotFinite { index, x: p.x, y: p.y });
            }
            let reach = p.x.abs().max(p.y.abs());
            if reach > FARTHEST_MM {
                return Err(OutlineError::TooFar { index, reach });
            }
        }
        let points = without_repeats(points);
        if points.len() > MOST_POINTS {
            return Err(OutlineError::TooManyPoints {
                found: points.len(),
                limit: MOST_POINTS,
            });
        }
        Self::from_finite(points)
    }

    /// [`Outline::new`] without the limits on size and reach, for results of our own operations.
    pub(crate) fn from_finite(points: Vec<Point>) -> Result<Self, OutlineError> {
        let mut points = without_repeats(points);
        if points.len() < 3 {
            return Err(OutlineError::TooFewPoints { found: points.len() });
        }
        if simple::all_on_one_line(&points) {
            return Err(OutlineError::Empty);
        }
        if let Some(at) = simple::first_crossing(&points) {
            return Err(OutlineError::SelfCrossing { x: at.x, y: at.y });
        }
        let area = signed_area(&points);
        if area == 0.0 {
            return Err(OutlineError::Empty);
        }
        if area < 0.0 {
            points.reverse();
        }
        Ok(Self { points })
    }

    /// An upright rectangle with its lower left corner at the origin; sizes in millimetres, both positive.
    ///
    /// # Panics
    /// If a size is not a positive finite number.
    #[must_use]
    pub fn rectangle(width: f64, height: f64) -> Self {
        assert!(width > 0.0 && height > 0.0 && width.is_finite() && height.is_finite());
        let p = |x, y| Point { x, y };
        Self {
            points: vec![p(0.0, 0.0), p(width, 0.0), p(width, height), p(0.0, height)],
        }
    }

    /// The corners, counter-clockwise, the first not repeated.
    #[must_use]
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Area in mm², positive.
    #[must_use]
    pub fn area(&self) -> f64 {
        signed_area(&self.points)
    }

    /// The upright box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        let first = self.points[0];
        self.points
            .iter()
            .fold(Bounds { min: first, max: first }, |b, p| Bounds {
                min: Point {
                    x: b.min.x.min(p.x),
                    y: b.min.y.min(p.y),
                },
                max: Point {
                    x: b.max.x.max(p.x),
                    y: b.max.y.max(p.y),
                },
            })
    }

    /// This outline as it lies in `pose`; still counter-clockwise when turned over.
    #[must_use]
    pub fn posed(&self, pose: &Pose) -> Self {
        let mut points: Vec<Point> = self.points.iter().map(|p| pose.apply(*p)).collect();
        if pose.turned_over {
            points.reverse();
        }
        Self { points }
    }

    /// The mirror image in the y axis (x → −x), still counter-clockwise.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        self.posed(&Pose {
            turned_over: true,
            ..Pose::IDENTITY
        })
    }

    /// The same outline moved by `(x, y)` mm.
    #[must_use]
    pub fn translated(&self, x: f64, y: f64) -> Self {
        let by = Point { x, y };
        Self {
            points: self.points.iter().map(|p| *p + by).collect(),
        }
    }

    /// Whether `point` lies inside or on the boundary; exact for the numbers given. Cost O(n).
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        simple::contains(&self.points, point)
    }

    /// A point inside, for a number or for asking where this lies (geo's interior point; in a sliver too thin for it the
    /// first corner). Cost O(n log n).
    ///
    /// ```
    /// use cullet_geometry::{Outline, Point};
    /// let horseshoe = [(0., 0.), (9., 0.), (9., 9.), (6., 9.), (6., 3.), (3., 3.), (3., 9.), (0., 9.)];
    /// let outline = Outline::new(horseshoe.map(|(x, y)| Point { x, y }).to_vec())?;
    /// assert!(outline.contains(outline.inner_point()));
    /// # Ok::<(), cullet_geometry::OutlineError>(())
    /// ```
    #[must_use]
    pub fn inner_point(&self) -> Point {
        use geo::InteriorPoint;
        self.to_polygon().interior_point().map_or(self.points[0], |p| p.0)
    }

    /// The shortest distance to `other` in mm, 0 when they touch or one covers part of the other.
    /// Cost about O(n log n), exact to rounding (geo's Euclidean distance).
    ///
    /// ```
    /// use cullet_geometry::Outline;
    /// let a = Outline::rectangle(10.0, 10.0);
    /// assert_eq!(a.distance_to(&a.translated(13.0, 14.0)), 5.0);
    /// assert_eq!(a.distance_to(&Outline::rectangle(2.0, 2.0)), 0.0);
    /// ```
    #[must_use]
    pub fn distance_to(&self, other: &Self) -> f64 {
        use geo::{Distance, Euclidean};
        Euclidean.distance(&self.to_polygon(), &other.to_polygon())
    }

    /// The smallest convex outline around it. Cost O(n log n).
    #[must_use]
    pub fn convex_hull(&self) -> Self {
        Self::hull_of(self.points.clone())
    }

    /// The smallest convex outline around points that are not all on one line.
    pub(crate) fn hull_of(points: Vec<Point>) -> Self {
        use geo::ConvexHull;
        let hull = geo::MultiPoint::from(points).convex_hull();
        Self {
            points: without_repeats(hull.exterior().0.clone()),
        }
    }

    /// The same shape for `geo`'s algorithms.
    #[must_use]
    pub fn to_polygon(&self) -> geo::Polygon<f64> {
        geo::Polygon::new(geo::LineString::from(self.points.clone()), vec![])
    }
}

impl TryFrom<Vec<[f64; 2]>> for Outline {
    type Error = OutlineError;
    fn try_from(list: Vec<[f64; 2]>) -> Result<Self, OutlineError> {
        Self::new(list.into_iter().map(|[x, y]| Point { x, y }).collect())
    }
}

impl From<Outline> for Vec<[f64; 2]> {
    fn from(outline: Outline) -> Self {
        outline.points.into_iter().map(|p| [p.x, p.y]).collect()
    }
}

impl JsonSchema for Outline {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Outline".into()
    }
    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        <Vec<[f64; 2]>>::json_schema(generator)
    }
}

/// Area in mm², positive for counter-clockwise rings; measured from the first point, so that a ring far from the origin
/// loses no digits.
pub(crate) fn signed_area(points: &[Point]) -> f64 {
    let Some(&origin) = points.first() else { return 0.0 };
    let twice: f64 = points
        .windows(2)
        .map(|pair| {
            let (a, b) = (pair[0] - origin, pair[1] - origin);
            a.x * b.y - b.x * a.y
        })
        .sum();
    twice / 2.0
}

fn without_repeats(mut points: Vec<Point>) -> Vec<Point> {
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    points
}
