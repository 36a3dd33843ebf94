//! Lengths, areas and weights in the job's unit: one hand for all that is written, [`cullet_job::measure`].

pub(crate) use cullet_job::measure::{area, heavy, length, short, short_size, size, weight};
