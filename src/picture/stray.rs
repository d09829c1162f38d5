//! Light of a source that shines into the lens and does not make its image there: an even veil
//! from the glass, the diffusion filter's glow of a source outside the frame, and ghosts, faint
//! images of the pupil on the line through the frame's middle.
//!
//! ```text
//!   ghosts of a source at s:      ○     ·×·   o   ●        × middle of the frame, ● the source
//! ```
//! With E the light on the lens across its axis, a surface of luminance L would look the same as
//! ```text
//!   veil    L = g·E/π              g: the lens's flare, as an even veil over the half-space
//!   glow    L = s·E·P(θ)           the filter's share and spread (optics::glare)
//!   ghost   L = ρ²·E/(π·r²)        two reflections ρ; r: the ghost's radius in tangents
//! ```
//! The ghost follows from the flux E·πa² of a pupil of radius a that two reflections throw onto a
//! disc of radius r·v of the film, where a luminance L gives L·πa²/v². A stand-in for a lens's own
//! ghosts: their number, place and size differ from lens to lens.

use glam::{Vec2, Vec3};

use super::view::{Frame, View};
use crate::layers::LightKind;
use crate::optics::glare::spread_per_sr;

/// A light as the lens meets it, at its layer's own setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Stray {
    /// The layer's name.
    pub light: String,
    /// Flash or steady.
    pub kind: LightKind,
    /// Straight light on the lens, across its axis: lx·s of a flash, lx of a steady light.
    pub on_lens: f64,
    /// Where it comes from: tangents to the right and up of the axis.
    pub tangents: Vec2,
}

/// Reflectance of a coated glass surface (common practice, no source: 0.2 to 0.5 %).
const COATED: f64 = 0.005;

/// Ghosts: place on the line from the frame's middle to the source, and size over the pupil's.
const GHOSTS: [(f32, f64); 4] = [(-0.3, 0.35), (-0.75, 0.7), (0.4, 0.5), (-1.25, 1.1)];

/// What a lens makes of stray light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrayLens {
    /// g, the share of the light on it that it strays evenly.
    pub flare: f64,
    /// s, the share that a diffusion filter spreads.
    pub filter: f64,
}

impl Stray {
    /// Adds it to a picture: `factor` is the picture value of a unit luminance of this light.
    pub fn add(
        &self,
        pixels: &mut [Vec3],
        factor: Vec3,
        lens: StrayLens,
        view: &View,
        frame: &Frame,
    ) {
        use rayon::prelude::*;
        if self.on_lens <= 0.0 || (lens.flare <= 0.0 && lens.filter <= 0.0) {
            return;
        }
        let over_pi = self.on_lens / std::f64::consts::PI;
        let veil = lens.flare * over_pi;
        // inside the frame it is in the picture, and the filter spreads it there
        let glow = if frame.holds(self.tangents) { 0.0 } else { lens.filter * self.on_lens };
        let from = direction(self.tangents);
        let ghosts: Vec<Ghost> = GHOSTS
            .iter()
            .filter(|_| lens.flare > 0.0)
            .map(|&(place, size)| {
                let radius = size * view.pupil_tan;
                let level = COATED * COATED * over_pi / (radius * radius);
                Ghost { middle: self.tangents * place, radius: radius as f32, level: level as f32 }
            })
            .collect();
        let soft = frame.pixel_tan()[0] as f32;
        pixels.par_iter_mut().enumerate().for_each(|(i, pixel)| {
            let at = frame.tangents(i);
            let mut level = veil as f32;
            if glow > 0.0 {
                let angle = from.angle_between(direction(at));
                level += (glow * spread_per_sr(f64::from(angle))) as f32;
            }
            for ghost in &ghosts {
                level += ghost.level_at(at, soft);
            }
            *pixel += factor * level;
        });
    }
}

struct Ghost {
    middle: Vec2,
    radius: f32,
    level: f32,
}

impl Ghost {
    /// A disc whose edge is as soft as a tenth of it, and at least a pixel.
    fn level_at(&self, at: Vec2, pixel: f32) -> f32 {
        let soft = (0.1 * self.radius).max(pixel);
        let inside = (self.radius - at.distance(self.middle)) / soft + 0.5;
        self.level * inside.clamp(0.0, 1.0)
    }
}

fn direction(tangents: Vec2) -> Vec3 {
    tangents.extend(1.0).normalize()
}
