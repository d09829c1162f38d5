//! Layers kept light by light, and whether they are of today's set.

use std::collections::HashMap;

use crate::layers::{Layer, Layers};
use crate::plan::{Aperture, Plan};
use crate::shoot::keys;

/// What a light's layer depends on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Key {
    /// The light, set and view: without it the layer shows another light.
    own: String,
    /// Besides, the other heads' bodies and the depth of field: without it the layer is nearly
    /// right, and may be looked at until a better one is there.
    full: String,
}

impl Key {
    /// Of a light in a plan.
    pub fn of(plan: &Plan, light: &str) -> Self {
        let others: Vec<&str> =
            plan.lights.iter().map(|one| one.name.as_str()).filter(|name| *name != light).collect();
        let mut sharp = plan.clone();
        sharp.camera.aperture = Aperture { f_number: 8.0 };
        Self {
            own: keys::layer_key(&sharp, light, &others, (0, 0)),
            full: keys::layer_key(plan, light, &[], (0, 0)),
        }
    }
}

/// How a kept layer fits today's plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// Nothing to do.
    Settled,
    /// Of this very set, and still noisy, or of another size.
    Rough,
    /// The other heads have moved.
    Near,
    /// None, or of another light.
    Missing,
}

struct Kept {
    key: Key,
    size: (u32, u32),
    layer: Layer,
    samples: u32,
    error_stops: f32,
    settled: bool,
}

/// The kept layers of one picture.
#[derive(Default)]
pub struct Store {
    kept: HashMap<String, Kept>,
    /// Distance of what is seen, with its size.
    pub depth: ((u32, u32), Vec<f32>),
}

impl Store {
    /// How a light's layer fits.
    pub fn fit(&self, light: &str, key: &Key, size: (u32, u32)) -> Fit {
        match self.kept.get(light) {
            Some(kept) if kept.key == *key && kept.size == size && kept.settled => Fit::Settled,
            Some(kept) if kept.key == *key => Fit::Rough,
            Some(kept) if kept.key.own == key.own => Fit::Near,
            _ => Fit::Missing,
        }
    }

    /// Whether a layer of so many samples is worth showing in place of the kept one.
    pub fn is_better(&self, light: &str, key: &Key, samples: u32) -> bool {
        /// Fewer are too noisy to take the place of a clean picture that is nearly right.
        const CLEAN: u32 = 16;
        self.kept.get(light).is_none_or(|kept| {
            kept.key.own != key.own || samples >= kept.samples.min(CLEAN) || samples >= CLEAN
        })
    }

    /// Keeps a layer.
    pub fn keep(&mut self, layer: Layer, key: Key, size: (u32, u32), samples: u32) {
        let name = layer.name.clone();
        let kept = Kept { key, size, layer, samples, error_stops: f32::INFINITY, settled: false };
        self.kept.insert(name, kept);
    }

    /// Notes that a light's layer is as good as asked for.
    pub fn settle(&mut self, light: &str, error_stops: f32) {
        if let Some(kept) = self.kept.get_mut(light) {
            kept.settled = true;
            kept.error_stops = error_stops;
        }
    }

    /// Forgets that layers are settled: a finer picture is asked for.
    pub fn unsettle(&mut self) {
        self.kept.values_mut().for_each(|kept| kept.settled = false);
    }

    /// Worst error of these lights.
    pub fn error_stops(&self, names: &[String]) -> f32 {
        let errors =
            names.iter().filter_map(|name| self.kept.get(name)).map(|kept| kept.error_stops);
        errors.fold(0.0, f32::max)
    }

    /// Forgets lights that are in the plan no more.
    pub fn retain(&mut self, plan: &Plan) {
        self.kept.retain(|name, _| {
            let mut names = plan.lights.iter().map(|light| &light.name);
            let mut lamps = plan.lamps.iter().map(|lamp| &lamp.name);
            let mut windows = plan.windows.iter().map(|window| &window.name);
            names.any(|one| one == name)
                || lamps.any(|one| one == name)
                || windows.any(|one| one == name)
                || (name == crate::stage::AMBIENT && plan.ambient.is_some())
        });
    }

    /// The layers of these lights at one size; `None` while none is there.
    pub fn layers(&self, names: &[String], size: (u32, u32)) -> Option<Layers> {
        let found: Vec<&Kept> = names.iter().filter_map(|name| self.kept.get(name)).collect();
        if found.is_empty() {
            return None;
        }
        let layers: Vec<Layer> = found
            .iter()
            .map(|kept| match kept.size == size {
                true => kept.layer.clone(),
                false => Layer {
                    name: kept.layer.name.clone(),
                    kind: kept.layer.kind,
                    pixels: resized(&kept.layer.pixels, kept.size, size),
                    variance: resized(&kept.layer.variance, kept.size, size),
                },
            })
            .collect();
        let depth = match self.depth.0 == size {
            true => self.depth.1.clone(),
            false => resized(&self.depth.1, self.depth.0, size),
        };
        let pixels = size.0 as usize * size.1 as usize;
        let samples = found.iter().map(|kept| kept.samples).min().unwrap_or(0);
        Some(Layers {
            width: size.0,
            height: size.1,
            layers,
            depth,
            samples: vec![samples; pixels],
        })
    }
}

/// A picture at another size, by straight lines between the pixels.
pub fn resized<T>(from: &[T], old: (u32, u32), new: (u32, u32)) -> Vec<T>
where
    T: Copy + Default + std::ops::Mul<f32, Output = T> + std::ops::Add<Output = T>,
{
    let (w, h) = (old.0 as usize, old.1 as usize);
    if from.len() != w * h || from.is_empty() {
        return vec![T::default(); new.0 as usize * new.1 as usize];
    }
    let along = |at: u32, new: u32, old: usize| {
        let place = (at as f32 + 0.5) * old as f32 / new as f32 - 0.5;
        let low = place.floor().clamp(0.0, (old - 1) as f32);
        (low as usize, (low as usize + 1).min(old - 1), (place - low).clamp(0.0, 1.0))
    };
    let columns: Vec<_> = (0..new.0).map(|x| along(x, new.0, w)).collect();
    let mut out = Vec::with_capacity(new.0 as usize * new.1 as usize);
    for y in 0..new.1 {
        let (top, bottom, down) = along(y, new.1, h);
        for &(left, right, across) in &columns {
            let row = |y: usize| from[y * w + left] * (1.0 - across) + from[y * w + right] * across;
            out.push(row(top) * (1.0 - down) + row(bottom) * down);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Length, Place, Power, shipped};

    fn plan() -> Plan {
        let shipped = &shipped::SHIPPED[0];
        crate::plan::parse(shipped.text, shipped.name).unwrap()
    }

    #[test]
    fn only_what_changes_light_changes_a_key() {
        let plan = plan();
        let (a, b) = (plan.lights[0].name.clone(), plan.lights[1].name.clone());
        let mut dimmed = plan.clone();
        dimmed.lights[0].power = Power { stops: -5.0 };
        dimmed.camera.iso = 800.0;
        assert_eq!(Key::of(&plan, &a), Key::of(&dimmed, &a));
        let mut moved = plan.clone();
        moved.lights[0].place = Place::Around {
            azimuth: 77.0,
            elevation: 10.0,
            distance: Length::metres(1.9),
            of: Default::default(),
        };
        assert_ne!(Key::of(&plan, &a).own, Key::of(&moved, &a).own);
        // of the other, only what it sees of the moved head
        assert_eq!(Key::of(&plan, &b).own, Key::of(&moved, &b).own);
        assert_ne!(Key::of(&plan, &b).full, Key::of(&moved, &b).full);
        let mut stopped_down = plan.clone();
        stopped_down.camera.aperture = Aperture { f_number: 2.0 };
        assert_eq!(Key::of(&plan, &a).own, Key::of(&stopped_down, &a).own);
        assert_ne!(Key::of(&plan, &a).full, Key::of(&stopped_down, &a).full);
    }

    #[test]
    fn resizing_keeps_even_tones_and_straight_lines() {
        assert!(resized(&[2.5f32; 12], (4, 3), (9, 7)).iter().all(|v| (v - 2.5).abs() < 1e-6));
        let ramp: Vec<f32> = (0..8).map(|x| x as f32).collect();
        let wide = resized(&ramp, (8, 1), (16, 1));
        assert!((wide[7] - 3.25).abs() < 1e-6 && (wide[8] - 3.75).abs() < 1e-6, "{wide:?}");
    }
}
