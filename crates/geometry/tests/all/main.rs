//! Checks of the geometry against closed formulas and foreign engines; the source stands beside each.

mod booleans;
mod offsets;
mod outlines;
mod paths;
mod rectangles;
mod runs;
mod shapes;
