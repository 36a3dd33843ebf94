//! An instance as its data file holds it, checked.

use anyhow::{Context, Result, ensure};
use serde::Deserialize;

/// Height that every strip and bin is scaled to, mm.
pub const HEIGHT: f64 = 1000.0;

/// How deep pieces may sink into each other or over an edge, mm: 1e-5 of the height.
pub const TOLERANCE: f64 = 0.01;

/// Width and height of the stock sheet of the J and H instances, whose files hold none. From memory.
const ASSUMED_BIN: (f64, f64) = (2250.0, 3210.0);

/// What the pieces go into. Source units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Room {
    /// A strip as long as it needs to be.
    Strip {
        /// Its fixed side, the height here.
        height: f64,
    },
    /// As many equal bins as it takes.
    Bins {
        /// Width of each.
        width: f64,
        /// Height of each.
        height: f64,
        /// Whether the size is from memory because the file holds none.
        assumed: bool,
    },
}

/// Rotations that a piece may have.
#[derive(Debug, Clone, PartialEq)]
pub enum Rotations {
    /// Any angle.
    Free,
    /// These, degrees.
    Only(Vec<f64>),
}

/// One kind of piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Corners, source units.
    pub outline: Vec<[f64; 2]>,
    /// How many.
    pub demand: u32,
    /// How it may turn.
    pub rotations: Rotations,
    /// Whether it may be turned over.
    pub may_turn_over: bool,
}

impl Piece {
    /// The sharpest of its corners, inside corners measured outside, degrees.
    #[must_use]
    pub fn sharpest_deg(&self) -> f64 {
        let n = self.outline.len();
        let away = |from: [f64; 2], to: [f64; 2]| (to[1] - from[1]).atan2(to[0] - from[0]).to_degrees();
        (0..n)
            .map(|i| {
                let corner = self.outline[i];
                let between = away(corner, self.outline[(i + n - 1) % n]) - away(corner, self.outline[(i + 1) % n]);
                let angle = between.rem_euclid(360.0);
                angle.min(360.0 - angle)
            })
            .fold(180.0, f64::min)
    }
}

/// A checked instance.
#[derive(Debug, Clone, PartialEq)]
pub struct Instance {
    /// Its name in the literature.
    pub name: String,
    /// Name of the file it stands in, without endings.
    pub file: String,
    /// Name of the folder that file is in.
    pub folder: String,
    /// What the pieces go into.
    pub room: Room,
    /// The kinds of piece.
    pub pieces: Vec<Piece>,
    /// Least number of bins, where it is known.
    pub optimal_bins: Option<u32>,
    /// Least length, source units, where it is known.
    pub optimal_length: Option<f64>,
}

#[derive(Deserialize)]
struct InstanceFile {
    name: String,
    strip_width: Option<f64>,
    bin_width: Option<f64>,
    bin_height: Option<f64>,
    optimal_bins: Option<u32>,
    optimal_length: Option<f64>,
    total_area: Option<f64>,
    pieces: Vec<PieceFile>,
}

#[derive(Deserialize)]
struct PieceFile {
    demand: u32,
    #[serde(default)]
    allowed_rotations_deg: Option<RotationsFile>,
    #[serde(default)]
    mirror_allowed: bool,
    outline: Vec<[f64; 2]>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum RotationsFile {
    Only(Vec<f64>),
    Word(String),
}

impl Instance {
    /// Reads one instance.
    ///
    /// # Errors
    /// When the text is no instance: a field missing, a size that is not positive, areas that do not add up to the stated
    /// total.
    pub fn read(text: &str, file: &str, folder: &str) -> Result<Self> {
        let raw: InstanceFile = serde_json::from_str(text).context("not an instance of a known schema")?;
        let name = raw.name.clone();
        Self::checked(raw, file, folder).with_context(|| format!("instance {name}"))
    }

    fn checked(raw: InstanceFile, file: &str, folder: &str) -> Result<Self> {
        let room = match (raw.strip_width, raw.bin_width, raw.bin_height) {
            (Some(height), ..) => Room::Strip { height },
            (None, Some(width), Some(height)) => Room::Bins {
                width,
                height,
                assumed: false,
            },
            _ => Room::Bins {
                width: ASSUMED_BIN.0,
                height: ASSUMED_BIN.1,
                assumed: true,
            },
        };
        let instance = Self {
            name: raw.name,
            file: file.to_string(),
            folder: folder.to_string(),
            room,
            pieces: raw.pieces.into_iter().map(piece).collect::<Result<_>>()?,
            optimal_bins: raw.optimal_bins,
            optimal_length: raw.optimal_length,
        };
        let (width, height) = instance.room_size();
        ensure!(
            width > 0.0 && height.is_finite() && height > 0.0,
            "the strip or bin has no size"
        );
        ensure!(instance.count() > 0, "there are no pieces");
        if let Some(total) = raw.total_area {
            let area = instance.area();
            ensure!(
                (area - total).abs() <= 1e-6 * total,
                "the pieces' areas add up to {area}, the file says {total}"
            );
        }
        Ok(instance)
    }

    /// Width (unbounded for a strip) and height of the strip or bin, source units.
    #[must_use]
    pub fn room_size(&self) -> (f64, f64) {
        match self.room {
            Room::Strip { height } => (f64::INFINITY, height),
            Room::Bins { width, height, .. } => (width, height),
        }
    }

    /// Millimetres to the source's unit.
    #[must_use]
    pub fn scale(&self) -> f64 {
        HEIGHT / self.room_size().1
    }

    /// Number of pieces.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.pieces.iter().map(|piece| piece.demand).sum()
    }

    /// Area of all pieces, source units squared.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.pieces.iter().map(|p| f64::from(p.demand) * area(&p.outline)).sum()
    }

    /// Least number of bins by area alone; 0 for a strip.
    #[must_use]
    pub fn bins_by_area(&self) -> u32 {
        match self.room {
            Room::Strip { .. } => 0,
            // A hair less than the quotient, so that a bin full to 100 % counts as one.
            Room::Bins { width, height, .. } => (self.area() / (width * height) - 1e-9).ceil().max(1.0) as u32,
        }
    }

    /// The same with every demand multiplied. The optimum is then unknown.
    #[must_use]
    pub fn times(mut self, factor: u32) -> Self {
        if factor != 1 {
            self.pieces.iter_mut().for_each(|piece| piece.demand *= factor);
            (self.optimal_bins, self.optimal_length) = (None, None);
        }
        self
    }

    /// The same with every rotation allowed.
    #[must_use]
    pub fn freed(mut self) -> Self {
        self.pieces
            .iter_mut()
            .for_each(|piece| piece.rotations = Rotations::Free);
        self
    }
}

fn piece(raw: PieceFile) -> Result<Piece> {
    let corners = raw.outline.len();
    ensure!(
        area(&raw.outline) > 0.0,
        "an outline of {corners} corners does not go counter-clockwise round an area"
    );
    let rotations = match raw.allowed_rotations_deg {
        Some(RotationsFile::Only(list)) => Rotations::Only(list),
        Some(RotationsFile::Word(word)) => {
            ensure!(
                word == "free",
                "allowed_rotations_deg is {word:?}, expected a list or \"free\""
            );
            Rotations::Free
        }
        // The jigsaw instances say nothing: translation only.
        None => Rotations::Only(vec![0.0]),
    };
    Ok(Piece {
        outline: raw.outline,
        demand: raw.demand,
        rotations,
        may_turn_over: raw.mirror_allowed,
    })
}

/// Signed area, positive counter-clockwise.
fn area(outline: &[[f64; 2]]) -> f64 {
    let next = outline.iter().cycle().skip(1);
    let twice: f64 = outline.iter().zip(next).map(|(a, b)| a[0] * b[1] - a[1] * b[0]).sum();
    twice / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Instance> {
        Instance::read(text, "file", "folder")
    }

    #[test]
    fn a_strip_is_scaled_to_its_height() -> Result<()> {
        let strip = read(
            r#"{"name":"A","strip_width":50,"total_area":24,"pieces":[
                {"demand":3,"allowed_rotations_deg":[0,90],"outline":[[0,0],[4,0],[4,2],[0,2]]}]}"#,
        )?;
        assert_eq!(strip.room, Room::Strip { height: 50.0 });
        assert_eq!((strip.scale(), strip.count(), strip.area()), (20.0, 3, 24.0));
        assert_eq!(strip.clone().times(4).count(), 12);
        assert_eq!(strip.freed().pieces[0].rotations, Rotations::Free);
        Ok(())
    }

    #[test]
    fn full_bins_count_as_full() -> Result<()> {
        let bins = read(
            r#"{"name":"B","bin_width":10,"bin_height":10,"optimal_bins":2,
                "pieces":[{"demand":2,"outline":[[0,0],[10,0],[10,10],[0,10]]}]}"#,
        )?;
        assert_eq!((bins.bins_by_area(), bins.optimal_bins), (2, Some(2)));
        assert_eq!(bins.pieces[0].rotations, Rotations::Only(vec![0.0]));
        Ok(())
    }

    #[test]
    fn what_does_not_add_up_is_refused() {
        let square = |area: f64, turns: &str, points: &str| {
            read(&format!(
                r#"{{"name":"A","strip_width":5,"total_area":{area},"pieces":[
                    {{"demand":1,"allowed_rotations_deg":{turns},"outline":{points}}}]}}"#
            ))
        };
        let good = "[[0,0],[1,0],[1,1],[0,1]]";
        assert!(square(1.0, "[0]", good).is_ok());
        assert!(square(2.0, "[0]", good).is_err());
        assert!(square(1.0, "\"any\"", good).is_err());
        assert!(square(1.0, "[0]", "[[0,0],[0,1],[1,1],[1,0]]").is_err());
        assert!(read("{}").is_err());
    }
}
