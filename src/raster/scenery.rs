//! The stage as this engine holds it: triangles for rays, meshes to draw, lighter ones to throw
//! shadows, the points that the camera sees; and what must be renewed when the stage changes.

use rayon::prelude::*;

use super::receivers::{self, Receiver};
use super::shade;
use super::shadow::Casters;
use super::shadow_mesh::{self, Fineness, ShadowMesh};
use super::solid::{Set, Solid};
use crate::gpu::{Gpu, GpuError, Meshes};
use crate::optics::surface::{Scatter, Surface};
use crate::stage::{Mesh, Role, Stage};

/// The stage on the card and beside it.
pub struct Scenery {
    /// As it stands.
    pub stage: Stage,
    /// For rays of light sub-paths.
    pub set: Set,
    /// What the camera sees.
    pub receivers: Vec<Receiver>,
    /// To be drawn.
    pub meshes: Meshes,
    /// Fine and coarse shadow casters.
    pub casters: [Casters; 2],
    /// Boxes of both hierarchies.
    pub nodes: wgpu::Buffer,
    /// Triangles of both hierarchies.
    pub facets: wgpu::Buffer,
    /// Where each hierarchy begins.
    pub roots: [u32; 2],
    light_meshes: Vec<[ShadowMesh; 2]>,
}

/// What differs between two stages.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Change {
    /// Where the camera stands, looks or focuses.
    pub camera: bool,
    /// Anything that stands: cloth, sitter, room, boards.
    pub set: bool,
    /// Heads and stands.
    pub fixtures: bool,
    /// How a surface scatters.
    pub surfaces: bool,
    /// Which lights there are, or which fronts they have.
    pub lights: bool,
    /// Lights that moved, by number.
    pub moved: Vec<usize>,
}

impl Change {
    /// Between what was and what is.
    pub fn between(was: &Stage, is: &Stage) -> Self {
        let same_lights =
            was.lights.len() == is.lights.len()
                && was.lights.iter().zip(&is.lights).all(|(a, b)| {
                    a.name == b.name && a.kind == b.kind && a.also.len() == b.also.len()
                });
        let moved = was.lights.iter().zip(&is.lights).enumerate();
        let fixture = |mesh: &&Mesh| mesh.role == Role::Fixture;
        let differ = |of: &dyn Fn(&&Mesh) -> bool| {
            let (a, b) = (was.meshes.iter().filter(of), is.meshes.iter().filter(of));
            a.clone().count() != b.clone().count() || a.zip(b).any(|(a, b)| !same_shape(a, b))
        };
        let (a, b) = (&was.meshes, &is.meshes);
        Self {
            camera: was.camera != is.camera,
            set: differ(&|mesh| !fixture(mesh)),
            fixtures: differ(&fixture),
            surfaces: a.len() != b.len()
                || a.iter().zip(b).any(|(a, b)| !same_surface(&a.surface, &b.surface)),
            lights: !same_lights,
            moved: moved
                .filter(|(_, (a, b))| a.source != b.source || a.also != b.also)
                .map(|(index, _)| index)
                .collect(),
        }
    }

    /// Whether every layer is out of date.
    pub fn all(&self) -> bool {
        self.camera || self.set || self.surfaces || self.lights
    }
}

fn same_shape(a: &Mesh, b: &Mesh) -> bool {
    a.role == b.role
        && a.positions == b.positions
        && a.triangles == b.triangles
        && a.normals == b.normals
        && a.tints == b.tints
}

fn same_surface(a: &Surface, b: &Surface) -> bool {
    let same_scatter = match (&a.scatter, &b.scatter) {
        (Scatter::Diffuse, Scatter::Diffuse) => true,
        (Scatter::Coated(a), Scatter::Coated(b)) => a.ior() == b.ior() && a.alpha() == b.alpha(),
        (Scatter::Velvet(a), Scatter::Velvet(b)) => a.pile() == b.pile(),
        (Scatter::Metal(a), Scatter::Metal(b)) => a.alpha() == b.alpha(),
        _ => false,
    };
    same_scatter && a.reflectance == b.reflectance
}

fn is_fixture(mesh: &Mesh) -> bool {
    mesh.role == Role::Fixture
}

fn lighten(mesh: &Mesh) -> [ShadowMesh; 2] {
    [shadow_mesh::lighten(mesh, Fineness::Fine), shadow_mesh::lighten(mesh, Fineness::Coarse)]
}

impl Scenery {
    /// Builds all of it.
    pub fn new(gpu: &Gpu, stage: &Stage) -> Result<Self, GpuError> {
        let stage = stage.clone();
        let set = Set {
            standing: Solid::new(&stage, |mesh| !is_fixture(mesh)),
            fixtures: Solid::new(&stage, is_fixture),
        };
        let light_meshes: Vec<_> = stage.meshes.par_iter().map(lighten).collect();
        Self::with(gpu, stage, set, light_meshes)
    }

    fn with(
        gpu: &Gpu,
        stage: Stage,
        set: Set,
        light_meshes: Vec<[ShadowMesh; 2]>,
    ) -> Result<Self, GpuError> {
        let (mut nodes, mut facets) = (Vec::new(), Vec::new());
        set.standing.flatten(&mut nodes, &mut facets);
        let roots = [0, nodes.len() as u32];
        set.fixtures.flatten(&mut nodes, &mut facets);
        let count = set.standing.depth().max(set.fixtures.depth());
        if count + 2 > shade::STACK {
            let most = shade::STACK - 2;
            return Err(GpuError::TooMany { what: "levels of boxes round the set", count, most });
        }
        let casters = [
            Casters::new(gpu, light_meshes.iter().map(|meshes| &meshes[0]))?,
            Casters::new(gpu, light_meshes.iter().map(|meshes| &meshes[1]))?,
        ];
        Ok(Self {
            receivers: receivers::seen(&stage, &set, &stage.camera),
            meshes: Meshes::new(gpu, &stage.meshes)?,
            casters,
            nodes: gpu.storage("nodes", &nodes)?,
            facets: gpu.storage("facets", &facets)?,
            roots,
            light_meshes,
            set,
            stage,
        })
    }

    /// The same for another stage, what has not changed kept.
    pub fn renewed(self, gpu: &Gpu, stage: &Stage, change: &Change) -> Result<Self, GpuError> {
        let stage = stage.clone();
        if !change.set && !change.fixtures {
            let receivers = receivers::seen(&stage, &self.set, &stage.camera);
            return Ok(Self { stage, receivers, ..self });
        }
        let Set { standing, fixtures } = self.set;
        let set = Set {
            standing: if change.set {
                Solid::new(&stage, |mesh| !is_fixture(mesh))
            } else {
                standing.renumbered(&self.stage, &stage)
            },
            fixtures: if change.fixtures {
                Solid::new(&stage, is_fixture)
            } else {
                fixtures.renumbered(&self.stage, &stage)
            },
        };
        let known = self.stage.meshes.iter().zip(self.light_meshes);
        let mut known: Vec<Option<(&Mesh, [ShadowMesh; 2])>> = known.map(Some).collect();
        let mut kept: Vec<Option<[ShadowMesh; 2]>> = stage
            .meshes
            .iter()
            .map(|mesh| {
                let same = |one: &Option<(&Mesh, _)>| {
                    one.as_ref()
                        .is_some_and(|(old, _)| old.name == mesh.name && same_shape(old, mesh))
                };
                let at = known.iter().position(same)?;
                known[at].take().map(|(_, light)| light)
            })
            .collect();
        let light_meshes = stage
            .meshes
            .par_iter()
            .zip(&mut kept)
            .map(|(mesh, kept)| kept.take().unwrap_or_else(|| lighten(mesh)))
            .collect();
        Self::with(gpu, stage, set, light_meshes)
    }
}
