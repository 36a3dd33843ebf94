//! Measurements. [`published`] lays out instances from the literature and sets the results beside the published ones; [`runs`]
//! measures straight-run layouts. The programs of the same names are their command lines.

pub mod published;
pub mod runs;
