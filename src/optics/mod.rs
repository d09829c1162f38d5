//! Pure functions of light with published check values. Uses no other module of this crate.

pub mod beam;
mod coat;
pub mod color;
pub mod fresnel;
pub mod ggx;
mod quadrature;
pub mod surface;
mod velvet;
