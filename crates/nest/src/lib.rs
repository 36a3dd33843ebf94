//! The search. (Being designed.)
