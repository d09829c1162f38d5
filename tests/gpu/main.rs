//! The graphics card's side, on whatever card there is (software Vulkan where there is none):
//! shaders are sound, twins agree with Rust, trace-gpu agrees with trace-cpu and with physics.

mod agree;
mod card;
mod developed;
mod raster;
mod shaders;
mod slide;
mod twins;
