//! SVG to PNG, for looking at sheet maps and panels.

use anyhow::{Context, Result, bail};
use resvg::{tiny_skia, usvg};
use std::path::Path;

/// Most pixels across or up; a larger picture helps nobody and eats the memory.
const MOST_PIXELS: f32 = 20_000.0;

/// Renders the SVG file `from` as the PNG file `to`, on white. `width` is in pixels; without it the SVG's own size in
/// CSS pixels is taken (1 in = 96 px).
///
/// Text is set in the fonts installed on the machine; a machine without fonts gives a picture without text.
///
/// # Errors
/// When a file cannot be read or written, is not SVG, or would come out larger than 20 000 pixels either way.
pub fn render(from: &Path, to: &Path, width: Option<u32>) -> Result<()> {
    let text = std::fs::read_to_string(from).with_context(|| format!("cannot read {}", from.display()))?;
    let mut options = usvg::Options::default();
    load_fonts(&mut options);
    let tree = usvg::Tree::from_str(&text, &options).with_context(|| format!("{} is not SVG", from.display()))?;

    let size = tree.size();
    #[allow(clippy::cast_precision_loss, reason = "pixel counts are small")]
    let scale = width.map_or(1.0, |w| w as f32 / size.width());
    let (across, up) = (
        (size.width() * scale).round().max(1.0),
        (size.height() * scale).round().max(1.0),
    );
    if across > MOST_PIXELS || up > MOST_PIXELS {
        bail!("{across} × {up} pixels are too many, at most {MOST_PIXELS} either way; give a smaller --width");
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "checked to lie in 1..=20 000"
    )]
    let mut pixels = tiny_skia::Pixmap::new(across as u32, up as u32).context("no memory for the picture")?;
    pixels.fill(tiny_skia::Color::WHITE);
    resvg::render(
        &tree,
        tiny_skia::Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    pixels
        .save_png(to)
        .with_context(|| format!("cannot write {}", to.display()))
}

/// Loads the machine's fonts and points the generic family names at ones that are there: the renderer's own defaults name
/// fonts that many machines lack, and it then drops the text without a word.
fn load_fonts(options: &mut usvg::Options<'_>) {
    let fonts = options.fontdb_mut();
    fonts.load_system_fonts();
    let mut families: Vec<String> = fonts
        .faces()
        .filter_map(|face| face.families.first().map(|(name, _)| name.clone()))
        .collect();
    families.sort();
    families.dedup();
    let pick = |wanted: &[&str]| {
        let exact = wanted.iter().find(|w| families.iter().any(|f| f == *w));
        exact.map(ToString::to_string).or_else(|| families.first().cloned())
    };
    if let Some(family) = pick(&["DejaVu Sans", "Liberation Sans", "Noto Sans", "Arial", "Helvetica"]) {
        fonts.set_sans_serif_family(&family);
        options.font_family.clone_from(&family);
    }
    let fonts = options.fontdb_mut();
    if let Some(family) = pick(&["DejaVu Serif", "Liberation Serif", "Noto Serif", "Times New Roman"]) {
        fonts.set_serif_family(family);
    }
    if let Some(family) = pick(&["DejaVu Sans Mono", "Liberation Mono", "Noto Sans Mono", "Courier New"]) {
        fonts.set_monospace_family(family);
    }
}
