//! A point of a path where light is turned: a surface, or the receptor of a meter.

use std::f32::consts::{FRAC_1_PI, TAU};

use glam::Vec3;

use super::scene::{Hit, Scene};
use crate::optics::surface::{Scatter, Surface};

/// Meter receptors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Receptor {
    /// Flat diffuser: response cos θ.
    Flat,
    /// Hemispherical dome: response (1 + cos θ)/2 over the whole sphere, the projected area of
    /// a hemisphere seen from θ relative to head-on.
    Dome,
}

impl Receptor {
    /// Response to light from `cos`, relative to head-on.
    pub fn response(self, cos: f32) -> f32 {
        match self {
            Receptor::Flat => cos.max(0.0),
            Receptor::Dome => 0.5 * (1.0 + cos),
        }
    }
}

/// See [`Vertex::camera_trust`].
pub const CAMERA_TRUST: f32 = 0.25;

/// What turns the light.
#[derive(Clone, Copy)]
enum Turn<'a> {
    /// A matt surface: by far the most common, and cheap.
    Matt {
        /// Diffuse reflectance at the point.
        reflectance: Vec3,
    },
    /// Any other surface.
    Surface {
        /// How it scatters.
        surface: &'a Surface,
        /// Diffuse reflectance at the point.
        reflectance: Vec3,
    },
    /// The start of a meter's paths.
    Receptor(Receptor),
}

impl<'a> Turn<'a> {
    fn at(surface: &'a Surface, reflectance: Vec3) -> Self {
        match surface.scatter {
            Scatter::Diffuse => Self::Matt { reflectance },
            _ => Self::Surface { surface, reflectance },
        }
    }
}

/// A vertex: where, with which normals, seen from which side.
#[derive(Clone, Copy)]
pub struct Vertex<'a> {
    /// World metres.
    pub position: Vec3,
    /// Geometric normal on the side of `outgoing`.
    pub geometric: Vec3,
    /// Shading normal; a receptor's axis.
    pub shading: Vec3,
    /// Unit direction to the previous vertex of the sub-path.
    pub outgoing: Vec3,
    turn: Turn<'a>,
}

impl<'a> Vertex<'a> {
    /// The vertex at `hit`, reached along `direction`.
    pub fn at_hit(scene: &'a Scene, hit: &Hit, direction: Vec3) -> Self {
        Self {
            position: hit.position,
            geometric: hit.geometric,
            shading: hit.shading,
            outgoing: -direction,
            turn: Turn::at(scene.surface(hit.surface), hit.reflectance),
        }
    }

    /// A vertex rebuilt from stored parts.
    pub fn surface(
        position: Vec3,
        geometric: Vec3,
        shading: Vec3,
        outgoing: Vec3,
        surface: &'a Surface,
        reflectance: Vec3,
    ) -> Self {
        Self { position, geometric, shading, outgoing, turn: Turn::at(surface, reflectance) }
    }

    /// A meter's receptor looking along `axis`.
    pub fn receptor(position: Vec3, axis: Vec3, receptor: Receptor) -> Self {
        Self {
            position,
            geometric: axis,
            shading: axis,
            outgoing: axis,
            turn: Turn::Receptor(receptor),
        }
    }

    /// Whether the vertex is a meter's receptor.
    pub fn is_receptor(&self) -> bool {
        matches!(self.turn, Turn::Receptor(_))
    }

    /// f(outgoing, incoming) of a surface, without the cosine.
    fn scatter(&self, incoming: Vec3) -> Vec3 {
        match self.turn {
            _ if incoming.dot(self.geometric) <= 0.0 => Vec3::ZERO,
            Turn::Matt { reflectance } => {
                let lit = incoming.dot(self.shading) > 0.0 && self.outgoing.dot(self.shading) > 0.0;
                if lit { reflectance * FRAC_1_PI } else { Vec3::ZERO }
            }
            Turn::Surface { surface, reflectance } => {
                let (wo, wi) = self.local(incoming);
                surface.eval(reflectance, wo, wi)
            }
            // light never leaves a receptor
            Turn::Receptor(_) => Vec3::ZERO,
        }
    }

    /// Camera-side weight of light arriving from `incoming`: f·cos with the shading normal, or a
    /// receptor's response.
    pub fn weigh(&self, incoming: Vec3) -> Vec3 {
        match self.turn {
            Turn::Matt { .. } | Turn::Surface { .. } => {
                self.scatter(incoming) * incoming.dot(self.shading).max(0.0)
            }
            Turn::Receptor(r) => Vec3::splat(r.response(incoming.dot(self.shading))),
        }
    }

    /// (a, b) of the response a + b·cos θ to light from θ off `shading`, were a surface matt;
    /// below zero is zero.
    pub fn response(&self) -> (f32, f32) {
        match self.turn {
            Turn::Receptor(Receptor::Dome) => (0.5, 0.5),
            _ => (0.0, 1.0),
        }
    }

    /// Light-side scattering toward `direction`: f only (the connecting geometry term brings the
    /// geometric cosine; Veach 1997, section 5.3, adjoint of shading normals).
    pub fn throw(&self, direction: Vec3) -> Vec3 {
        self.scatter(direction)
    }

    /// Cosine of the area conversion toward `direction`. A dome takes light from all round and
    /// is a point: it has no area to convert to.
    pub fn geometric_cos(&self, direction: Vec3) -> f32 {
        direction.dot(self.geometric).max(0.0)
    }

    /// Density of [`Vertex::draw`], 1/sr.
    pub fn pdf(&self, incoming: Vec3) -> f32 {
        match self.turn {
            Turn::Matt { .. } => {
                let lit = self.outgoing.dot(self.shading) > 0.0;
                if lit { incoming.dot(self.shading).max(0.0) * FRAC_1_PI } else { 0.0 }
            }
            Turn::Surface { surface, reflectance } => {
                let (wo, wi) = self.local(incoming);
                surface.pdf(reflectance, wo, wi)
            }
            Turn::Receptor(Receptor::Flat) => incoming.dot(self.shading).max(0.0) * FRAC_1_PI,
            // response-proportional: (1 + cos)/(4π)
            Turn::Receptor(Receptor::Dome) => {
                (1.0 + incoming.dot(self.shading)) * (0.25 * FRAC_1_PI)
            }
        }
    }

    /// Density that the reversed path scatters from `from` into `to`, 1/sr.
    pub fn pdf_between(&self, from: Vec3, to: Vec3) -> f32 {
        let mut reversed = *self;
        reversed.outgoing = from;
        reversed.pdf(to)
    }

    /// A direction for the next vertex.
    pub fn draw(&self, u: Vec3) -> Option<Vec3> {
        let (t, b) = self.shading.any_orthonormal_pair();
        let local = match self.turn {
            Turn::Surface { surface, reflectance } => {
                let (wo, _) = self.local(self.outgoing);
                surface.sample(reflectance, wo, u)?
            }
            Turn::Matt { .. } if self.outgoing.dot(self.shading) <= 0.0 => return None,
            Turn::Matt { .. } | Turn::Receptor(Receptor::Flat) => {
                let (r, phi) = (u.y.sqrt(), TAU * u.z);
                Vec3::new(r * phi.cos(), r * phi.sin(), (1.0 - u.y).max(0.0).sqrt())
            }
            Turn::Receptor(Receptor::Dome) => {
                // cdf of (1 + c)/2 on [−1, 1] is ((1 + c)/2)²
                let cos = 2.0 * u.y.sqrt() - 1.0;
                let (sin, phi) = ((1.0 - cos * cos).max(0.0).sqrt(), TAU * u.z);
                Vec3::new(sin * phi.cos(), sin * phi.sin(), cos)
            }
        };
        let direction = (t * local.x + b * local.y + self.shading * local.z).normalize();
        let through = !self.is_receptor() && direction.dot(self.geometric) <= 0.0;
        (!through).then_some(direction)
    }

    /// Probability that a light sub-path goes on from here.
    pub fn light_share(&self) -> f32 {
        match self.turn {
            Turn::Matt { reflectance } | Turn::Surface { reflectance, .. } => {
                reflectance.max_element().clamp(0.1, 0.95)
            }
            Turn::Receptor(_) => 0.0,
        }
    }

    /// Probability that a camera sub-path goes on from here. Less than what the surface throws
    /// back: the pool holds the later bounces already (measured: a quarter less time to the same
    /// error than with all of it).
    pub fn camera_share(&self) -> f32 {
        match self.turn {
            Turn::Matt { reflectance } | Turn::Surface { reflectance, .. } => {
                (0.6 * reflectance.max_element()).clamp(0.1, 0.95)
            }
            Turn::Receptor(_) => 1.0,
        }
    }

    /// The same as the weights see it: a path that goes on is trusted less than its density
    /// says, since one direction competes with a whole block of pool members. Any constant
    /// leaves the estimate unbiased (measured: a fifth less time than with 1).
    pub fn camera_trust(&self) -> f32 {
        CAMERA_TRUST * self.camera_share()
    }

    /// Ray origin or visibility end toward `direction`.
    pub fn lift_normal(&self, direction: Vec3) -> Vec3 {
        match self.turn {
            Turn::Receptor(_) => direction,
            _ => self.geometric,
        }
    }

    fn local(&self, incoming: Vec3) -> (Vec3, Vec3) {
        let (t, b) = self.shading.any_orthonormal_pair();
        let into = |d: Vec3| Vec3::new(d.dot(t), d.dot(b), d.dot(self.shading));
        (into(self.outgoing), into(incoming))
    }
}
