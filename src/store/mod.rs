//! All SQL lives here, and nothing else does.
