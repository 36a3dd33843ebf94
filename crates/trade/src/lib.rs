//! Limits of the trade: what glass, lead and the bench allow, each with its source.
//!
//! # What it is for
//! A limit that several parts of the program go by stands here once, with where it comes from. What a user may set for himself
//! (narrowest strip, tightest curve, edge trim …) stands with the job's settings; what only one place goes by stands there.
//!
//! # Units
//! Millimetres, mm², degrees, kilograms.
//!
//! # What it must not know
//! Anything else. It is numbers. The verifier has limits of its own, so that a slip here is found.

/// A corner sharper than this loses its point, degrees (machine-cutting handbook page).
pub const SHARPEST_CORNER_DEG: f64 = 30.0;

/// A corner that turns inwards by more than this is an inside corner, degrees: more than a score turns at once. By arithmetic a bend of
/// 5 mm radius leaves a corner of 30° by 0.2 mm.
pub const INSIDE_CORNER_DEG: f64 = 30.0;

/// A bend inwards tighter than this is an inside corner, mm; common practice.
pub const TIGHTEST_INSIDE: f64 = 2.0;

/// A piece narrower than this and longer than [`SNAPS_LENGTH`] snaps, mm (workshop tips, 2010).
pub const SNAPS_WIDTH: f64 = 6.0;
/// See [`SNAPS_WIDTH`].
pub const SNAPS_LENGTH: f64 = 125.0;

/// An inside curve is easy while its chord is at least so many times its depth (from memory; no published limit).
pub const EASY_DEPTH: f64 = 4.0;

/// Radius of the tightest outside curve that pliers nibble along a piece, mm (common practice, no published figure).
pub const NIBBLED_CURVE: f64 = 1.0;

/// A section of a window stays under 12 sq ft (restoration studio), mm².
pub const SECTION: f64 = 1.11e6;
/// A panel over 4 sq ft wants support bars (two sources), mm².
pub const BARS: f64 = 0.37e6;
/// A panel over 14 ft round wants support bars (two sources), mm.
pub const BARS_ROUND: f64 = 4270.0;

/// Angles of a bevel to the face that are usual, degrees (two sources: 3–10°, machine bevels 7°).
pub const BEVEL_ANGLES_DEG: (f64, f64) = (3.0, 10.0);
/// Least thickness that a bevel may leave at the edge, mm; common practice: below it the edge chips at the wheel. A 1½ in bevel at 7° on
/// 5 mm glass would leave 0.32 mm and is refused.
pub const LEAST_NOSE: f64 = 1.0;
/// The least nose on glass of [`THICK`] or more, mm: 1/8 in (trade magazine, July 1998).
pub const NOSE_ON_THICK: f64 = 3.175;
/// Glass counts as 6 mm from this thickness, mm (ASTM C1036).
pub const THICK: f64 = 5.56;
/// Widest bevel below a thickness, mm (trade magazine, July 1998: 13 mm on 3.2 mm glass, 25 on 4, 38 on 5). A glass counts as 4 or 5 mm
/// from the least thickness that ASTM C1036 allows it. From 6 mm on no limit is published.
pub const WIDEST_BEVEL: [(f64, f64); 3] = [(3.78, 13.0), (4.57, 25.0), (THICK, 38.0)];

/// Density of soda-lime glass, kg per m² and mm of thickness (EN 572-1: 2500 kg/m³).
pub const KG_PER_M2_MM: f64 = 2.5;
/// Weight above which a sheet needs two people to lift it, kg (common practice; the ideal limit of NIOSH's lifting guidance is 23).
pub const TWO_PEOPLE_KG: f64 = 25.0;
