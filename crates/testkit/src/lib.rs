//! Samples that the tests of several crates start from. Not a part of the product.

pub mod plan;
