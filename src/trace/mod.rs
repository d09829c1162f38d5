//! CPU path tracer: the ground truth.
