//! Pure functions of light with published check values. Uses no other module of this crate.

pub mod beam;
mod coat;
pub mod color;
pub mod curve;
pub mod exposure;
pub mod fresnel;
pub mod fstop;
pub mod geometry;
pub mod ggx;
pub mod glare;
pub mod lens;
mod metal;
pub mod photometric;
pub mod photometry;
pub mod quadrature;
pub mod sampler;
pub mod shutter;
pub mod sky;
pub mod surface;
mod velvet;
