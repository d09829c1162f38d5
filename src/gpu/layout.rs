//! Structures as shaders lay them out. A test holds each against the shaders' own reflection.

use bytemuck::{Pod, Zeroable};

/// `Surface` of shaders/common/surface.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Pod, Zeroable)]
pub struct Surface {
    /// Linear Rec.709.
    pub reflectance: [f32; 3],
    /// Diffuse 0, coated 1, velvet 2, metal 3.
    pub kind: u32,
    /// By kind; see the shader.
    pub shape: [f32; 4],
    /// Index into the tables.
    pub albedo_at: u32,
    /// Nothing.
    pub pad: [u32; 3],
}

/// `Film` of shaders/common/source.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Pod, Zeroable)]
pub struct Film {
    /// World metres.
    pub position: [f32; 3],
    /// Disc 0, ring 1, rectangle 2, polygon 3, tube 4, ball 5.
    pub shape: u32,
    /// Unit.
    pub axis: [f32; 3],
    /// Cosine 0, dish 1, gate 2, table 3.
    pub beam: u32,
    /// Unit.
    pub right: [f32; 3],
    /// Of a polygon.
    pub sides: u32,
    /// Unit.
    pub up: [f32; 3],
    /// Index into the tables.
    pub sampler_at: u32,
    /// Metres, by shape.
    pub size: [f32; 2],
    /// Radians.
    pub reach: f32,
    /// cd·s or cd.
    pub intensity: f32,
    /// By beam.
    pub beam_shape: [f32; 2],
    /// Index into the tables.
    pub table_at: u32,
    /// 1/m.
    pub inverse_focus: f32,
    /// Tangents.
    pub shutters: [f32; 4],
    /// 1/h², k, scale.
    pub glow: [f32; 3],
    /// m².
    pub area: f32,
    /// m²; 0 where it has a beam.
    pub seen_area: f32,
    /// Probability.
    pub share: f32,
    /// Cumulative probability.
    pub cumulative: f32,
    /// Nothing.
    pub pad: u32,
}

/// Fronts that shaders have room for; `MOST_FILMS` there.
pub const MOST_FILMS: usize = 400;

/// A vertex for drawing.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Pod, Zeroable)]
pub struct Vertex {
    /// World metres.
    pub position: [f32; 3],
    /// Index of its surface.
    pub surface: u32,
    /// Unit.
    pub normal: [f32; 3],
    /// Nothing.
    pub pad: u32,
    /// Factor on the diffuse reflectance.
    pub tint: [f32; 3],
    /// Nothing.
    pub pad_after: u32,
}

/// A unit vector as two signed 16-bit halves of an octahedral map (Cigolle et al. 2014, 'A Survey
/// of Efficient Representations for Independent Unit Vectors'); off by 4e-5 at most.
pub fn pack_normal(n: glam::Vec3) -> u32 {
    let p = n.truncate() / (n.x.abs() + n.y.abs() + n.z.abs()).max(1e-20);
    let sign = |x: f32| if x >= 0.0 { 1.0 } else { -1.0 };
    let e = if n.z >= 0.0 {
        p
    } else {
        glam::Vec2::new((1.0 - p.y.abs()) * sign(p.x), (1.0 - p.x.abs()) * sign(p.y))
    };
    let half = |x: f32| u32::from((x.clamp(-1.0, 1.0) * 32767.0).round() as i16 as u16);
    half(e.x) | half(e.y) << 16
}
