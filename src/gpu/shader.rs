//! WGSL modules: shared pieces of shaders/common/ and one pass.

const MATH: &str = include_str!("../../shaders/common/math.wgsl");
const SAMPLER: &str = include_str!("../../shaders/common/sampler.wgsl");
const COLOR: &str = include_str!("../../shaders/common/color.wgsl");
const SURFACE: &str = include_str!("../../shaders/common/surface.wgsl");
const SOURCE: &str = include_str!("../../shaders/common/source.wgsl");

/// A pass over surfaces and lights: everything shared, with bind group 0 as
/// [`super::Materials`] binds it.
pub fn with_scene(pass: &str) -> String {
    [MATH, SAMPLER, COLOR, SURFACE, SOURCE, pass].join("\n")
}

/// A pass over finished layers: colour alone, no bindings.
pub fn with_color(pass: &str) -> String {
    [COLOR, pass].join("\n")
}
