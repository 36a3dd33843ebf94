//! Measurements. [`published`] lays out instances from the literature and sets the results beside the published ones; the
//! program `published` is its command line.

pub mod published;
