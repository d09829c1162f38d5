//! Triangles with a surface and a role.

use glam::Vec3;

use crate::optics::surface::Surface;

/// What a mesh is, for masks, exports and lighter shadow meshes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// Wall, floor or ceiling.
    Room,
    /// Backdrop, sweep, drapery, cover.
    Cloth,
    /// Crate, plinth.
    SetBox,
    /// Skin of the sitter.
    Skin,
    /// Eyeball.
    Eye,
    /// Hair.
    Hair,
    /// Garment or headwrap.
    Garment,
    /// Light head or stand.
    Fixture,
    /// Flag, cut-out, reflector.
    Board,
}

/// A triangle mesh in world metres. Every surface scatters on both sides.
#[derive(Debug, Clone)]
pub struct Mesh {
    /// Name for exports and messages.
    pub name: String,
    /// What it is.
    pub role: Role,
    /// Vertex positions.
    pub positions: Vec<Vec3>,
    /// Unit vertex normals for smooth shading; empty for flat faces.
    pub normals: Vec<Vec3>,
    /// Linear factors on the diffuse reflectance at each vertex (lips, brows); empty for none.
    pub tints: Vec<Vec3>,
    /// Counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// How it scatters.
    pub surface: Surface,
}
