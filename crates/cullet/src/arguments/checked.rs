//! Values that are checked while they are typed.

use cullet_job::PartFile;

/// Parts that were said one by one, as one.
pub(crate) fn all_of(parts: &[PartFile]) -> Option<PartFile> {
    parts.iter().cloned().reduce(|all, one| PartFile {
        layer: one.layer.or(all.layer),
        page: one.page.or(all.page),
        frame: one.frame.or(all.frame),
    })
}

pub(super) fn above_0(text: &str) -> Result<f64, String> {
    let number: f64 = text.trim().parse().map_err(|_| "a number is wanted".to_owned())?;
    match number.is_finite() && number > 0.0 {
        true => Ok(number),
        false => Err("a number above 0 is wanted: 1 for mm, 25.4 for inches".to_owned()),
    }
}

pub(super) fn part(text: &str) -> Result<PartFile, String> {
    let (kind, which) = text.split_once('=').unwrap_or((text, ""));
    let which = which.trim().to_owned();
    let mut part = PartFile::default();
    match kind.trim() {
        "layer" if !which.is_empty() => part.layer = Some(which),
        "page" if !which.is_empty() => part.page = Some(which),
        "frame" => match which.parse() {
            Ok(number @ 1..) => part.frame = Some(number),
            _ => return Err("frames are numbered from 1".to_owned()),
        },
        _ => return Err("layer=NAME, page=NAME or frame=N is wanted".to_owned()),
    }
    Ok(part)
}
