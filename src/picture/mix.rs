//! Layers to one exposed picture: a gain for each light, and the camera's setting.

use glam::Vec3;
use rayon::prelude::*;
use thiserror::Error;

use super::Picture;
use crate::layers::{Layers, LightKind};
use crate::optics::color;
use crate::optics::exposure::Exposure;

/// How bright each light is and how the camera is set.
#[derive(Debug, Clone, PartialEq)]
pub struct Mix {
    /// The camera's setting.
    pub exposure: Exposure,
    gains: Vec<(String, Vec3)>,
}

/// Why layers cannot be mixed.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MixError {
    /// A gain names no layer: the caller's fault.
    #[error("no layer is named {name:?}; there are {}", known.join(", "))]
    UnknownLayer {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
}

impl Mix {
    /// Every light at its layer's own setting.
    pub fn new(exposure: Exposure) -> Self {
        Self { exposure, gains: Vec::new() }
    }

    /// With `gain` on the layer `name`: power (2^stops), gel and colour temperature multiplied.
    /// Zero turns the light off.
    #[must_use]
    pub fn with(mut self, name: impl Into<String>, gain: Vec3) -> Self {
        let name = name.into();
        self.gains.retain(|(known, _)| *known != name);
        self.gains.push((name, gain));
        self
    }

    /// Picture value for each unit of each layer, in the layers' order: gain times exposure.
    pub fn factors(&self, layers: &Layers) -> Result<Vec<Vec3>, MixError> {
        if let Some((name, _)) = self.gains.iter().find(|(name, _)| layers.named(name).is_none()) {
            let known = layers.layers.iter().map(|layer| layer.name.clone()).collect();
            return Err(MixError::UnknownLayer { name: name.clone(), known });
        }
        Ok(self.factors_of(layers.layers.iter().map(|layer| (layer.name.as_str(), layer.kind))))
    }

    /// The same before there are layers: what unit luminance of each named light will come to.
    pub fn factors_of<'a>(&self, lights: impl Iterator<Item = (&'a str, LightKind)>) -> Vec<Vec3> {
        lights.map(|(name, kind)| self.factor(name, kind)).collect()
    }

    /// Picture value of unit luminance of one light.
    pub fn factor(&self, name: &str, kind: LightKind) -> Vec3 {
        let exposed = match kind {
            LightKind::Flash => self.exposure.linear_from_flash(1.0),
            LightKind::Continuous => self.exposure.linear_from_steady(1.0),
        };
        self.gain(name) * exposed as f32
    }

    /// Gain of the layer `name`; 1 where none is set.
    pub fn gain(&self, name: &str) -> Vec3 {
        let found = self.gains.iter().find(|(known, _)| known == name);
        found.map_or(Vec3::ONE, |(_, gain)| *gain)
    }

    /// The exposed picture.
    pub fn apply(&self, layers: &Layers) -> Result<Picture, MixError> {
        self.apply_to(layers, &|_| true)
    }

    /// The exposed picture of the lights of a kind.
    pub fn apply_to(
        &self,
        layers: &Layers,
        wanted: &dyn Fn(LightKind) -> bool,
    ) -> Result<Picture, MixError> {
        let factors = self.factors(layers)?;
        let mut pixels = vec![Vec3::ZERO; layers.width as usize * layers.height as usize];
        for (layer, &factor) in layers.layers.iter().zip(&factors) {
            if factor != Vec3::ZERO && wanted(layer.kind) {
                pixels.par_iter_mut().zip(&layer.pixels).for_each(|(sum, &value)| {
                    *sum += factor * value;
                });
            }
        }
        Ok(Picture { width: layers.width, height: layers.height, pixels })
    }

    /// Variance of the picture's luminance, pixel by pixel: each layer's, times its factor's
    /// luminance squared. Exact for white gains, close for coloured ones (a layer keeps the
    /// variance of its luminance only).
    pub fn variance(&self, layers: &Layers) -> Result<Vec<f32>, MixError> {
        let factors = self.factors(layers)?;
        let mut sum = vec![0.0; layers.width as usize * layers.height as usize];
        for (layer, &factor) in layers.layers.iter().zip(&factors) {
            let squared = color::luminance(factor).powi(2);
            for (sum, variance) in sum.iter_mut().zip(&layer.variance) {
                *sum += squared * variance;
            }
        }
        Ok(sum)
    }
}
