//! Lighter meshes for shadow maps: vertices gathered into cells, the body's volume and the
//! sheet's rim kept, so that a shadow keeps its size.
//!
//! ```text
//!   ·  · ·|· ·  ·      one vertex a cell (Rossignac & Borrel 1993, 'Multi-resolution 3D
//!    · ·  |  ·  ·      approximations for rendering complex scenes'); a closed body is then
//!   ──────┼──────      swollen back by what the chords cut off
//!    ·  · | · ·  ·
//! ```

use std::collections::{HashMap, HashSet};

use glam::{IVec3, Vec3};

use crate::stage::{Mesh, Role};

/// Positions and triangles that throw shadows.
#[derive(Debug, Clone, Default)]
pub struct ShadowMesh {
    /// World metres.
    pub positions: Vec<Vec3>,
    /// Corners.
    pub triangles: Vec<[u32; 3]>,
}

/// How light a shadow mesh is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fineness {
    /// For points of a light's front.
    Fine,
    /// For landing points, each a small share of the light.
    Coarse,
}

impl Fineness {
    /// How far a mesh may be off its original, metres: about a quarter of the coarsest cell,
    /// since a cell's vertex is the mean of those in it.
    pub const fn deviation_m(self) -> f32 {
        match self {
            Self::Fine => 0.005,
            Self::Coarse => 0.012,
        }
    }

    /// Cell of a mesh in metres: about the finest relief whose shadow falls beyond its own short
    /// rays; None for what is light already.
    fn cell_m(self, mesh: &Mesh) -> Option<f32> {
        const LIGHT: usize = 1500;
        if mesh.triangles.len() < LIGHT {
            return None;
        }
        let fine = match mesh.role {
            Role::Room | Role::SetBox | Role::Fixture | Role::Board => return None,
            Role::Cloth => 0.022,
            Role::Garment => 0.014,
            Role::Skin | Role::Hair => 0.006,
            Role::Eye => 0.004,
        };
        Some(match self {
            Self::Fine => fine,
            Self::Coarse => 2.4 * fine,
        })
    }
}

/// The lighter mesh, or a copy where it is light already.
pub fn lighten(mesh: &Mesh, fineness: Fineness) -> ShadowMesh {
    match fineness.cell_m(mesh) {
        Some(cell) => gather(mesh, cell),
        None => ShadowMesh { positions: mesh.positions.clone(), triangles: mesh.triangles.clone() },
    }
}

fn gather(mesh: &Mesh, cell_m: f32) -> ShadowMesh {
    let rim = rim(mesh);
    let mut clusters: HashMap<(IVec3, u8), u32> = HashMap::new();
    let mut sums: Vec<(Vec3, Vec3, f32)> = Vec::new();
    let mut of = Vec::with_capacity(mesh.positions.len());
    for (i, &p) in mesh.positions.iter().enumerate() {
        let normal = mesh.normals.get(i).copied().unwrap_or(Vec3::ZERO);
        // sides that look apart stay apart: an ear keeps its thickness
        let side = normal.cmpge(Vec3::ZERO).bitmask() as u8;
        let key = ((p / cell_m).floor().as_ivec3(), if rim[i] { 8 } else { side });
        let next = clusters.len() as u32;
        let cluster = *clusters.entry(key).or_insert(next);
        if cluster == next {
            sums.push((Vec3::ZERO, Vec3::ZERO, 0.0));
        }
        let sum = &mut sums[cluster as usize];
        *sum = (sum.0 + p, sum.1 + normal, sum.2 + 1.0);
        of.push(cluster);
    }
    let mut positions: Vec<Vec3> = sums.iter().map(|(p, _, n)| *p / *n).collect();
    let mut seen = HashSet::new();
    let triangles: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .map(|corners| corners.map(|i| of[i as usize]))
        .filter(|&[a, b, c]| {
            let mut key = [a, b, c];
            key.sort_unstable();
            a != b && b != c && c != a && seen.insert(key)
        })
        .collect();
    if !rim.contains(&true) {
        swell(mesh, cell_m, &mut positions, &sums, &triangles);
    }
    ShadowMesh { positions, triangles }
}

/// Puts back along the normals the volume that the chords cut off.
fn swell(
    mesh: &Mesh,
    cell_m: f32,
    positions: &mut [Vec3],
    sums: &[(Vec3, Vec3, f32)],
    triangles: &[[u32; 3]],
) {
    let lost = volume(&mesh.positions, &mesh.triangles) - volume(positions, triangles);
    let area: f64 = triangles
        .iter()
        .map(|&[a, b, c]| {
            let [a, b, c] = [a, b, c].map(|i| positions[i as usize]);
            0.5 * f64::from((b - a).cross(c - a).length())
        })
        .sum();
    let by = (lost / area.max(1e-12)) as f32;
    // an open or crossed body has no volume to speak of
    let by = by.clamp(-0.1 * cell_m, 0.1 * cell_m);
    for (position, (_, normal, _)) in positions.iter_mut().zip(sums) {
        *position += normal.normalize_or_zero() * by;
    }
}

/// Signed volume of a closed surface in m³ (divergence theorem), from its first vertex.
fn volume(positions: &[Vec3], triangles: &[[u32; 3]]) -> f64 {
    let origin = positions.first().copied().unwrap_or(Vec3::ZERO);
    let point = |i: u32| (positions[i as usize] - origin).as_dvec3();
    triangles.iter().map(|&[a, b, c]| point(a).dot(point(b).cross(point(c))) / 6.0).sum()
}

/// Which vertices lie on an edge that only one triangle has.
fn rim(mesh: &Mesh) -> Vec<bool> {
    let mut edges: Vec<u64> = mesh
        .triangles
        .iter()
        .flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)])
        .map(|(p, q)| u64::from(p.min(q)) << 32 | u64::from(p.max(q)))
        .collect();
    edges.sort_unstable();
    let mut rim = vec![false; mesh.positions.len()];
    for same in edges.chunk_by(|a, b| a == b).filter(|same| same.len() == 1) {
        rim[(same[0] >> 32) as usize] = true;
        rim[(same[0] & 0xffff_ffff) as usize] = true;
    }
    rim
}
