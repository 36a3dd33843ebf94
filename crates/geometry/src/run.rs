//! A straight run from edge to edge, and the parts it makes of an outline.
