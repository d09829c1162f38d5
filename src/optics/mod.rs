//! Pure functions of light with published check values. Uses no other module of this crate.

pub mod beam;
pub mod surface;
