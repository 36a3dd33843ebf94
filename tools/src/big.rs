//! A large job for timing: many pieces of some tens of kinds on full-size float.

use crate::files;
use anyhow::{Result, ensure};
use cullet_job::{
    FaceFile, GlassFile, GrainFile, JobFile, OutlineFile, PanelFile, PieceFile, PriceUnit, Settings, Units, YDirection,
};
use std::path::Path;

/// Writes `job.json` and `stock.csv` for `pieces` pieces of `kinds` kinds.
///
/// # Errors
/// When there are fewer pieces than kinds or no kinds, or a file cannot be written.
pub fn write(folder: &Path, pieces: u32, kinds: u32) -> Result<()> {
    files::write(&folder.join("job.json"), &files::job_text(&job(pieces, kinds)?)?)?;
    files::write(
        &folder.join("stock.csv"),
        "kind,tag,glass,units,width,height,count,outline,grain,lot,place,flaws,price\n\
         sheet,FLOAT-2440,FLOAT4,mm,2440,3660,buy,,,,,,\n",
    )
}

/// The job: kinds are shared out over two panels, so that the quantities add up to `pieces` exactly.
///
/// # Errors
/// When there are fewer pieces than kinds or no kinds.
pub fn job(pieces: u32, kinds: u32) -> Result<JobFile> {
    ensure!(kinds > 0, "at least one kind is needed");
    ensure!(
        pieces >= kinds,
        "{pieces} pieces cannot be of {kinds} kinds; ask for at least {kinds}"
    );
    let (each, more) = (pieces / kinds, pieces % kinds);
    let panel = |id: &str, quantity, numbers: std::ops::Range<u32>| PanelFile {
        id: id.into(),
        name: String::new(),
        quantity,
        mirrored_quantity: 0,
        drawing: None,
        pieces: numbers.map(piece).collect(),
    };
    let panels = [panel("A", each + 1, 0..more), panel("B", each, more..kinds)];
    Ok(JobFile {
        schema: None,
        format: cullet_job::JOB_FORMAT,
        name: format!("Timing job, {pieces} pieces of {kinds} kinds"),
        units: Units::Millimetres,
        y: YDirection::Up,
        settings: Settings::default(),
        glasses: vec![GlassFile {
            code: "FLOAT4".into(),
            name: "Clear float, 4 mm".into(),
            thickness: 4.0,
            texture: "plain".into(),
            grain: GrainFile::None,
            grain_tolerance: 0.0,
            may_turn_over: true,
            scored_face: FaceFile::Show,
            grind_allowance: 0.5,
            narrowest_strip: None,
            edge_trim: None,
            layout: None,
            price: 30.0,
            price_unit: PriceUnit::SquareMetre,
        }],
        panels: panels.into_iter().filter(|p| !p.pieces.is_empty()).collect(),
        choices: vec![],
    })
}

/// Kind `k`: one of six shapes, its size spread over 70 to 260 mm by multiples of the golden section.
fn piece(k: u32) -> PieceFile {
    let spread = |start: f64| (start + f64::from(k) * 0.618_033_988_75).fract();
    let width = (70.0 + 190.0 * spread(0.1)).round();
    let height = (70.0 + 190.0 * (spread(0.3) * 7.0).fract()).round();
    // A triangle longer than this would have a point under 30°.
    let height = if k % 6 == 4 {
        height.clamp(width * 0.7, width * 1.3)
    } else {
        height
    };
    // Laid out in rows of eight, so that the panel can be looked at.
    let (left, low) = (f64::from(k % 8) * 280.0, f64::from(k / 8) * 300.0);
    let place = |[x, y]: &[f64; 2]| [left + x * width, low + y * height];
    let points = |list: &[[f64; 2]]| OutlineFile::Points(list.iter().map(place).collect());
    let outline = match k % 6 {
        0 => points(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]),
        1 => points(&[[0.0, 0.0], [1.0, 0.0], [0.8, 1.0], [0.25, 1.0]]),
        2 => points(&[[0.5, 0.0], [1.0, 0.5], [0.5, 1.0], [0.0, 0.5]]),
        3 => points(&[[0.2, 0.0], [0.8, 0.0], [1.0, 0.5], [0.75, 1.0], [0.25, 1.0], [0.0, 0.5]]),
        4 => points(&[[0.0, 0.0], [1.0, 0.1], [0.35, 1.0]]),
        // A segment of a ring: arcs above and below, chord : depth about 7.5 : 1.
        _ => OutlineFile::Path(format!(
            "M {left} {low} a {width} {width} 0 0 0 {width} 0 v {height} a {width} {width} 0 0 1 -{width} 0 Z"
        )),
    };
    PieceFile {
        shape: None,
        quantity: 1,
        number: (k + 1).to_string(),
        outline,
        glass: "FLOAT4".into(),
        grain: None,
        bevel: None,
        one_lot: None,
        spares: 0,
    }
}
