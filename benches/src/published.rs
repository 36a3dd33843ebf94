//! Published nesting instances: read, laid out, verified, put in a table.
//!
//! In reading order: [`schema`] and [`find`] for the instances, [`run`] for the search, [`verify`] for what came out,
//! [`figures`] for what others published, [`table`], [`record`] and [`picture`] for the results, [`growth`] for how time
//! and memory grow. Lengths are millimetres after scaling: the strip or bin becomes [`schema::HEIGHT`] high.

pub mod figures;
pub mod find;
pub mod growth;
pub mod memory;
pub mod picture;
pub mod record;
pub mod run;
pub mod schema;
pub mod table;
pub mod verify;
