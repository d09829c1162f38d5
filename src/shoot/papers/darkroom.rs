//! Layers kept by what they depend on: a power, a gel, the shutter or ISO need no rays, and a moved
//! light only its own. The aperture is traced again, because it changes what is sharp.
//!
//! In: plans that differ. Out: a [`Shot`] for each. A light's layer depends also on the bodies of the
//! other heads, which cast shadows. The other lights are rendered once without the body of the head
//! that moves; where that comes into the picture, the part of their layers that shows it is traced
//! again. What is lost is its shadow and bounce in their light.

use std::collections::HashMap;

use super::face::AtUnit;
use super::sweep::LONG_SIDE;
use crate::layers::{Layer, Layers};
use crate::optics::color::luminance;
use crate::picture::{Mix, Taking};
use crate::plan::Plan;
use crate::shoot::keys::{built, layer_key, set_key};
use crate::shoot::options::{Progress, Settle, StillOptions};
use crate::shoot::{ShootError, check, read_meter, still, take};
use crate::stage::{self, Set, Stage};
use crate::trace::{TILE, Tracer, Under};

/// What a layer laid over known ones may add to a frame's error, as a share of the error asked for:
/// together they stay within √(1 + ½²), 12 % over it.
const OVER: f64 = 0.5;

/// A frame's layers, mix and readings.
pub(super) struct Shot {
    pub(super) layers: Layers,
    pub(super) taking: Taking,
    pub(super) face: Vec<AtUnit>,
    /// Names of the lights whose layers were traced for it.
    pub(super) traced: Vec<String>,
    /// Share of the picture in which others were traced again.
    pub(super) patched_share: f64,
    /// The light that moves, if just one does.
    pub(super) moved: Option<String>,
}

/// A layer with its light's reading at the face at unit setting.
#[derive(Clone)]
struct Kept {
    layer: Layer,
    face: AtUnit,
}

/// Layers by what they depend on.
pub(super) struct Darkroom<'a> {
    options: &'a StillOptions,
    /// Lights whose place, shape or aim varies.
    moving: Vec<String>,
    sets: HashMap<String, Set>,
    kept: HashMap<String, Kept>,
    /// Layers that shots were made of in all.
    pub(super) used: usize,
}

impl<'a> Darkroom<'a> {
    /// Ready for these plans, rendered so.
    pub(super) fn new(plans: &[&Plan], options: &'a StillOptions) -> Self {
        let mut moving = Vec::new();
        if let Some((first, rest)) = plans.split_first() {
            for light in &first.lights {
                let at = |plan: &Plan| plan.lights.iter().find(|l| l.name == light.name).map(built);
                let start = at(first);
                if rest.iter().any(|plan| at(plan) != start) {
                    moving.push(light.name.clone());
                }
            }
        }
        Self { options, moving, sets: HashMap::new(), kept: HashMap::new(), used: 0 }
    }

    /// Stands every set that differs from the first by lights, boards or camera only, so that what
    /// cannot stand is refused before work starts.
    pub(super) fn refuse(&mut self, plans: &[&Plan]) -> Result<(), ShootError> {
        let Some(first) = plans.first().map(|plan| set_key(plan)) else { return Ok(()) };
        for plan in plans.iter().filter(|plan| set_key(plan) == first) {
            self.stage(plan)?;
        }
        Ok(())
    }

    /// The plan's stage; its slow part is built once.
    fn stage(&mut self, plan: &Plan) -> Result<Stage, ShootError> {
        let key = set_key(plan);
        if let Some(set) = self.sets.get(&key) {
            return Ok(set.lit(plan)?);
        }
        let set = stage::set(plan)?;
        let stage = set.lit(plan)?;
        self.sets.insert(key, set);
        Ok(stage)
    }

    /// The moving lights whose bodies a light's layer is rendered without.
    fn hidden(&self, light: &str) -> Vec<&str> {
        self.moving.iter().map(String::as_str).filter(|name| *name != light).collect()
    }

    /// A plan's layers, traced where they are not kept, and its readings at the face.
    pub(super) fn shoot(
        &mut self,
        plan: &Plan,
        progress: &(dyn Fn(Progress) + Sync),
    ) -> Result<Shot, ShootError> {
        let names = still::lit(plan, &self.options.only);
        if names.is_empty() {
            return Err(ShootError::Dark);
        }
        let stage = self.stage(plan)?;
        let mut options = self.options.clone();
        let size = *options.size.get_or_insert_with(|| still::default_size(&stage, LONG_SIDE));
        let rays = take::rays(plan, &stage, &names);
        let taking = take::taking(plan, &stage, &names, &rays);
        let keys: Vec<String> =
            names.iter().map(|name| layer_key(plan, name, &self.hidden(name), size)).collect();
        let missing: Vec<&String> = names
            .iter()
            .zip(&keys)
            .filter(|(_, key)| !self.kept.contains_key(*key))
            .map(|(name, _)| name)
            .collect();
        let traced: Vec<String> = missing.iter().map(|name| (*name).clone()).collect();
        // lights that see the same bodies are traced together, those that see all but the moving first
        let mut groups: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
        for name in &traced {
            let hidden = self.hidden(name);
            match groups.iter_mut().find(|(known, _)| *known == hidden) {
                Some((_, group)) => group.push(name.clone()),
                None => groups.push((hidden, vec![name.clone()])),
            }
        }
        groups.sort_by_key(|(hidden, _)| std::cmp::Reverse(hidden.len()));
        let groups: Vec<(Vec<String>, Vec<String>)> = groups
            .into_iter()
            .map(|(hidden, group)| (hidden.into_iter().map(str::to_owned).collect(), group))
            .collect();
        for (hidden, group) in groups {
            let mut bare = plan.clone();
            for light in bare.lights.iter_mut().filter(|light| hidden.contains(&light.name)) {
                light.fixture = false;
            }
            let stage = self.stage(&bare)?;
            let base = self.base(&keys, &taking.mix);
            let mut options = options.clone();
            options.only.clone_from(&group);
            if let (Settle::Within { stops }, Some(_)) = (options.settle, &base) {
                options.settle = Settle::Within { stops: stops * OVER };
            }
            let under = Under { luminance: base.as_deref(), tiles: None };
            let layers = still::layers_over(plan, &stage, &options, &under, progress)?;
            let tracer = Tracer::new(&stage, |light| group.contains(&light.name));
            let face = read_meter::face_at_unit(&stage, &tracer, self.options.seed);
            for (light, value) in tracer.scene.lights.iter().zip(face) {
                let found = names.iter().position(|name| *name == light.name);
                if let (Some(index), Some(layer)) = (found, layers.named(&light.name)) {
                    let face = AtUnit { name: light.name.clone(), kind: light.kind, value };
                    let kept = Kept { layer: layer.clone(), face };
                    self.kept.insert(keys[index].clone(), kept);
                }
            }
        }
        let kept: Vec<Kept> = keys.iter().filter_map(|key| self.kept.get(key)).cloned().collect();
        self.used += kept.len();
        let (mut layers, mut face) = (Vec::new(), Vec::new());
        for one in kept {
            layers.push(one.layer);
            face.push(one.face);
        }
        let (width, height) = size;
        let mut layers = Layers { width, height, layers, depth: Vec::new(), samples: Vec::new() };
        let patched_share = self.patch(plan, &stage, &options, &mut layers, progress)?;
        let moved = match self.moving.as_slice() {
            [one] => Some(one.clone()),
            _ => None,
        };
        Ok(Shot { layers, taking, face, traced, patched_share, moved })
    }

    /// Traces again, with the moved heads in place, the part of the other lights' layers that shows
    /// them; gives its share of the picture.
    fn patch(
        &self,
        plan: &Plan,
        stage: &Stage,
        options: &StillOptions,
        layers: &mut Layers,
        progress: &(dyn Fn(Progress) + Sync),
    ) -> Result<f64, ShootError> {
        let (width, height) = (layers.width, layers.height);
        let aspect = f64::from(width) / f64::from(height);
        let columns = width.div_ceil(TILE);
        let mut shows = vec![false; (columns * height.div_ceil(TILE)) as usize];
        for name in self.moving.iter().filter(|name| check::in_picture(stage, name)) {
            check::cover(stage, name, aspect, |low, high| {
                // a square more on every side, for what is out of focus
                let tile =
                    |share: f32, side: u32| (share * side as f32 / TILE as f32).floor() as i64;
                for y in tile(low.y, height) - 1..=tile(high.y, height) + 1 {
                    for x in tile(low.x, width) - 1..=tile(high.x, width) + 1 {
                        let inside = (0..i64::from(columns)).contains(&x) && y >= 0;
                        if let Some(one) = shows.get_mut((y * i64::from(columns) + x) as usize) {
                            *one |= inside;
                        }
                    }
                }
            });
        }
        let only: Vec<String> = layers
            .layers
            .iter()
            .map(|layer| layer.name.clone())
            .filter(|name| !self.hidden(name).is_empty())
            .collect();
        if only.is_empty() || !shows.contains(&true) {
            return Ok(0.0);
        }
        let wanted = |x: u32, y: u32| shows[(y / TILE * columns + x / TILE) as usize];
        let under = Under { luminance: None, tiles: Some(&wanted) };
        let mut options = options.clone();
        options.only.clone_from(&only);
        let patch = still::layers_over(plan, stage, &options, &under, progress)?;
        for layer in &mut layers.layers {
            let Some(new) = patch.named(&layer.name) else { continue };
            for (index, pixel) in layer.pixels.iter_mut().enumerate() {
                if wanted(index as u32 % width, index as u32 / width) {
                    *pixel = new.pixels[index];
                }
            }
        }
        let count = shows.iter().filter(|shows| **shows).count();
        Ok(count as f64 / shows.len() as f64)
    }

    /// Luminance of the layers that are there already; `None` where there are none.
    fn base(&self, keys: &[String], mix: &Mix) -> Option<Vec<f32>> {
        let known: Vec<&Kept> = keys.iter().filter_map(|key| self.kept.get(key)).collect();
        let first = known.first()?;
        let mut base = vec![0.0; first.layer.pixels.len()];
        let kinds = known.iter().map(|kept| (kept.layer.name.as_str(), kept.layer.kind));
        for (kept, factor) in known.iter().zip(mix.factors_of(kinds)) {
            for (sum, &pixel) in base.iter_mut().zip(&kept.layer.pixels) {
                *sum += luminance(factor * pixel);
            }
        }
        Some(base)
    }
}
