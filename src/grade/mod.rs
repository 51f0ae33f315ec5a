//! Grading: what a call is worth against the truth.
