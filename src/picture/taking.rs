//! From layers to what the sensor records: mix, lens filter, stray light, curtains, fall-off.
//!
//! ```text
//!   layers ─mix─► flash ──► filter's glow ──► + stray ──► × curtains ─┐
//!            └──► steady ─► filter's glow ──► + stray ────────────────┴► + ─► × fall-off
//! ```
//! Each step is linear in light, and none needs a ray: power, gel, shutter, ISO, filter and
//! fall-off change at the mix. The aperture's exposure does too; its blur is in the layers.

use glam::Vec3;
use rayon::prelude::*;

use super::glare::{Kernel, spread};
use super::stray::{Stray, StrayLens};
use super::view::{Frame, View};
use super::{Mix, MixError, Picture};
use crate::layers::{Layers, LightKind};
use crate::optics::lens::Falloff;
use crate::optics::shutter::Curtains;

/// The edge of the frame, as held, that the shutter covers first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// Camera held level.
    Bottom,
    /// Camera held upright, its grip up.
    Right,
}

/// How the camera turns layers into a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Taking {
    /// Level of each light, and the setting.
    pub mix: Mix,
    /// The lens and the sensor.
    pub view: View,
    /// Curtains that cut the flash, and the edge they cover first.
    pub curtains: Option<(Curtains, Edge)>,
    /// Fall-off toward the corners.
    pub falloff: Option<Falloff>,
    /// What lens and filter do to stray light, and the share that the filter spreads.
    pub lens: StrayLens,
    /// Lights that shine into the lens.
    pub stray: Vec<Stray>,
}

impl Taking {
    /// A perfect lens with open curtains.
    pub fn plain(mix: Mix, view: View) -> Self {
        let lens = StrayLens { flare: 0.0, filter: 0.0 };
        Self { mix, view, curtains: None, falloff: None, lens, stray: Vec::new() }
    }

    /// Curtains that cut the flash at all.
    fn band(&self) -> Option<(Curtains, Edge)> {
        self.curtains.filter(|(curtains, _)| curtains.band() != [0.0; 2])
    }

    /// Share of a pixel's flash, and of its steady light, that is recorded; none where that is all
    /// of both everywhere.
    pub(super) fn shares(&self, frame: &Frame) -> Option<Vec<[f32; 2]>> {
        let band = self.band();
        if band.is_none() && self.falloff.is_none() {
            return None;
        }
        let pixels = frame.size[0] as usize * frame.size[1] as usize;
        let share = |pixel: usize| {
            let lens = self.falloff.map_or(1.0, |falloff| {
                falloff.share(f64::from(frame.tangents(pixel).length())) as f32
            });
            let lit = band
                .map_or(1.0, |(curtains, edge)| curtains.lit(from_edge(edge, frame, pixel)) as f32);
            [lens * lit, lens]
        };
        Some((0..pixels).into_par_iter().map(share).collect())
    }

    /// Stray light of the lights of a kind among those named; none where there is none.
    pub(super) fn strays(
        &self,
        frame: &Frame,
        kind: LightKind,
        named: &dyn Fn(&str) -> bool,
    ) -> Option<Vec<Vec3>> {
        let wanted = |stray: &&Stray| stray.kind == kind && named(&stray.light);
        self.stray.iter().find(wanted)?;
        let mut pixels = vec![Vec3::ZERO; frame.size[0] as usize * frame.size[1] as usize];
        for stray in self.stray.iter().filter(wanted) {
            let factor = self.mix.factor(&stray.light, stray.kind);
            stray.add(&mut pixels, factor, self.lens, &self.view, frame);
        }
        Some(pixels)
    }

    /// The picture that the sensor records.
    pub fn picture(&self, layers: &Layers) -> Result<Picture, MixError> {
        let frame = self.view.cropped(layers.width, layers.height);
        let kernel = (self.lens.filter > 0.0).then(|| Kernel::new(&frame));
        let band = self.band();
        let part = |wanted: &dyn Fn(LightKind) -> bool| -> Result<Vec<Vec3>, MixError> {
            let mut pixels = self.mix.apply_to(layers, wanted)?.pixels;
            if let Some(kernel) = &kernel {
                spread(&mut pixels, kernel, self.lens.filter as f32);
            }
            for stray in self.stray.iter().filter(|stray| wanted(stray.kind)) {
                if layers.named(&stray.light).is_some() {
                    let factor = self.mix.factor(&stray.light, stray.kind);
                    stray.add(&mut pixels, factor, self.lens, &self.view, &frame);
                }
            }
            Ok(pixels)
        };
        let mut pixels = match band {
            None => part(&|_| true)?,
            Some((curtains, edge)) => {
                let mut flash = part(&|kind| kind == LightKind::Flash)?;
                flash.par_iter_mut().enumerate().for_each(|(i, pixel)| {
                    *pixel *= curtains.lit(from_edge(edge, &frame, i)) as f32;
                });
                let steady = part(&|kind| kind == LightKind::Continuous)?;
                flash.par_iter_mut().zip(&steady).for_each(|(sum, value)| *sum += *value);
                flash
            }
        };
        if let Some(falloff) = self.falloff {
            pixels.par_iter_mut().enumerate().for_each(|(i, pixel)| {
                *pixel *= falloff.share(f64::from(frame.tangents(i).length())) as f32;
            });
        }
        Ok(Picture { width: layers.width, height: layers.height, pixels })
    }
}

/// How far a pixel lies from the edge, as a share of the whole sensor's side.
fn from_edge(edge: Edge, frame: &Frame, pixel: usize) -> f64 {
    let [width, height] = frame.size.map(f64::from);
    let column = (pixel % frame.size[0] as usize) as f64 + 0.5;
    let row = (pixel / frame.size[0] as usize) as f64 + 0.5;
    let (share, kept) = match edge {
        Edge::Bottom => (1.0 - row / height, frame.kept[1]),
        Edge::Right => (1.0 - column / width, frame.kept[0]),
    };
    0.5 + (share - 0.5) * kept
}
