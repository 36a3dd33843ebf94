//! Measures straight-run layouts: sets cut from a full sheet at random, glass data from the literature, counts by arithmetic.

pub mod check;
pub mod sets;
