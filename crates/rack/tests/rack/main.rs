//! The rack through what the crate offers.

mod booking;
mod common;
mod conservation;
mod files;
mod large;
mod lists;
mod tampered;
