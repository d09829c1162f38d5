//! The slide: a picture that begins as shadow mapping and passes to path tracing while one looks.
//!
//! ```text
//!   Raster ──► sums of each light ───────────┐
//!   trace::gpu ──► sums, errors by tile ──► show (weighted by trust) ──► develop ──► picture
//! ```
//! In: a [`Stage`] and today's mix. Out: a developed picture on the card and one number, how many
//! stops it is still off. A window calls [`Slide::step`] between frames; a step is short. Power,
//! gel, shutter and ISO go by [`Slide::set_mix`] and renew nothing; [`Slide::change`] renews the
//! layers of lights that moved, or all of them where set or camera changed.
//!
//! Each tile of each light shows the mean of both engines, weighted by the inverse squares of
//! their errors: the rasteriser's known one, and the tracer's measured one. So the picture passes
//! over by degrees, and its level does not jump.

use std::time::Instant;

use glam::Vec3;

use crate::gpu::{Gpu, GpuError};
use crate::layers::Layers;
use crate::picture::card::{CardLayer, LensDeveloper};
use crate::picture::{Development, Taking};
use crate::raster::{self, Change, Raster};
use crate::stage::{Light, Stage};
use crate::trace::gpu::{FirstLook, GpuTracer, Pools, Session, Shower};
use crate::trace::{Options, Tracer};

/// What the rasteriser is off by however long it draws, in stops: 6 %, its bound against the
/// tracer (its tests hold it).
const RASTER_FLOOR_STOPS: f32 = 0.084;

/// Streams of a round of the tracer.
const STREAMS: u32 = 4;

/// A picture in the making.
pub struct Slide {
    gpu: Gpu,
    stage: Stage,
    wanted: Vec<String>,
    options: Options,
    raster: Raster,
    tracer: Tracer,
    card: GpuTracer,
    session: Session,
    shower: Shower,
    developer: LensDeveloper,
    shown: Vec<wgpu::Buffer>,
    pass: u32,
    steps: u32,
}

impl Slide {
    /// Puts the stage on a card with the lights that are named, in the stage's order.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn new(
        gpu: &Gpu,
        stage: &Stage,
        wanted: &[String],
        options: Options,
    ) -> Result<Self, GpuError> {
        let mut framed = stage.clone();
        let aspect = f64::from(options.width) / f64::from(options.height);
        framed.camera = stage.camera.cropped_to(aspect);
        let keep = |light: &Light| wanted.contains(&light.name);
        let first = raster::Options {
            seed: options.seed,
            mix: options.mix.clone(),
            ..raster::Options::new(options.width, options.height)
        };
        let raster = Raster::new(gpu, &framed, keep, first)?;
        let tracer = Tracer::new(&framed, keep);
        let card = GpuTracer::new(gpu, &tracer)?;
        let session = Session::new(&card, &tracer, &options)?;
        let size = (options.width, options.height);
        let pixels = size.0 * size.1;
        let shown = (0..session.lights())
            .map(|_| gpu.zeros("shown", u64::from(pixels) * 16))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            gpu: gpu.clone(),
            stage: framed,
            wanted: wanted.to_vec(),
            options,
            raster,
            shower: Shower::new(&card)?,
            developer: LensDeveloper::new(gpu, size)?,
            tracer,
            card,
            session,
            shown,
            pass: 0,
            steps: 0,
        })
    }

    /// Does what betters the picture most: a first look at every light that has none; then
    /// rounds of the tracer for the tiles and lights with most error left in today's mix, with a
    /// round of the rasteriser between them while its own noise is above its floor.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn step(&mut self) -> Result<(), GpuError> {
        self.steps += 1;
        let noisy = self.raster.error_stops() > RASTER_FLOOR_STOPS && !self.has_passed();
        if self.raster.rounds() == 0 || (noisy && self.steps % 2 == 1) {
            return self.raster.step();
        }
        self.trace()
    }

    /// Whether every tile shows the tracer for the most part.
    fn has_passed(&self) -> bool {
        self.session.errors.iter().all(|&error| error < RASTER_FLOOR_STOPS)
    }

    /// A round of the tracer: one path of each stream for the half of the tiles with most error.
    fn trace(&mut self) -> Result<(), GpuError> {
        let mut tiles: Vec<u32> = (0..self.session.tiles()).collect();
        let error = |tile: &u32| self.session.errors[*tile as usize];
        tiles.sort_by(|a, b| error(b).total_cmp(&error(a)).then(a.cmp(b)));
        // all of those that are unknown yet, half of the others
        let unknown = tiles.iter().take_while(|tile| error(tile).is_infinite()).count();
        tiles.truncate(unknown + (tiles.len() - unknown).div_ceil(2));
        self.session.choose_now(&tiles);
        for stream in 0..STREAMS {
            let pools = Pools::new(&self.tracer, self.pass, self.options.seed);
            self.pass += 1;
            let begun = Instant::now();
            self.session.sample(&self.card, &pools, &tiles, stream as usize);
            self.gpu.wait()?;
            self.session.pace(begun.elapsed(), tiles.len());
        }
        self.session.measure(&self.card, &tiles)
    }

    /// What a unit of each light comes to in the picture from now on. Renews no layer.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn set_mix(&mut self, mix: &[Vec3]) -> Result<(), GpuError> {
        self.options.mix = mix.to_vec();
        self.raster.set_mix(mix.to_vec());
        self.session.set_mix(mix);
        let all: Vec<u32> = (0..self.session.tiles()).collect();
        self.session.measure(&self.card, &all)
    }

    /// Takes over a changed stage: the layers of lights that moved begin anew, all of them where
    /// set, camera or surfaces changed or lights came or went.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn change(self, stage: &Stage) -> Result<Self, GpuError> {
        let mut framed = stage.clone();
        let aspect = f64::from(self.options.width) / f64::from(self.options.height);
        framed.camera = stage.camera.cropped_to(aspect);
        let change = Change::between(&self.stage, &framed);
        if change.lights {
            let gpu = self.gpu.clone();
            return Self::new(&gpu, stage, &self.wanted, self.options);
        }
        let mut slide = self;
        let wanted = slide.wanted.clone();
        slide.raster = slide.raster.renew(&framed)?;
        slide.tracer = Tracer::new(&framed, |light| wanted.contains(&light.name));
        slide.card.put(&slide.tracer)?;
        let names: Vec<&String> = slide.tracer.scene.lights.iter().map(|l| &l.name).collect();
        for (index, name) in names.into_iter().enumerate() {
            let moved = change.moved.iter().any(|&number| framed.lights[number].name == *name);
            if moved || change.all() {
                slide.session.renew(&slide.card, index);
            }
        }
        if change.camera {
            slide.session.look_through(&framed.camera);
        }
        slide.stage = framed;
        slide.gpu.check()?;
        Ok(slide)
    }

    /// How far the picture may still be off, in stops of the average tile.
    pub fn within_stops(&self) -> f32 {
        if self.raster.rounds() == 0 {
            return f32::INFINITY;
        }
        let first = self.raster.error_stops().hypot(RASTER_FLOOR_STOPS);
        let errors = &self.session.errors;
        let sum: f32 = errors.iter().map(|&traced| together(first, traced)).sum();
        sum / errors.len() as f32
    }

    /// Samples that the tracer has of a light in the tile with the fewest.
    pub fn samples(&self, light: usize) -> u32 {
        (0..self.session.tiles()).map(|tile| self.session.samples(tile, light)).min().unwrap_or(0)
    }

    /// Develops what there is, as a plain lens shows it. The picture is then in [`Slide::picture`].
    ///
    /// # Errors
    /// Where the card went away.
    pub fn develop(&mut self, development: impl Into<Development>) -> Result<(), GpuError> {
        self.show()?;
        let layers: Vec<&wgpu::Buffer> = self.shown.iter().collect();
        self.developer.plain(&self.gpu, &layers, &self.options.mix, development);
        self.gpu.check()
    }

    /// Develops what there is through the camera's lens and filter, at the mix of `taking`.
    ///
    /// # Errors
    /// Where the card has no room, or went away.
    pub fn develop_through(
        &mut self,
        taking: &Taking,
        development: impl Into<Development>,
    ) -> Result<(), GpuError> {
        self.show()?;
        let lights = self.tracer.scene.lights.iter().zip(&self.shown);
        let layers: Vec<CardLayer> = lights
            .map(|(light, pixels)| CardLayer { name: &light.name, kind: light.kind, pixels })
            .collect();
        self.developer.develop(&self.gpu, &layers, taking, development)?;
        self.gpu.check()
    }

    /// The linear picture that was developed last, in today's mix, before any lens. Waits for the
    /// card.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn linear(&self) -> Result<Vec<Vec3>, GpuError> {
        let pixels = u64::from(self.options.width) * u64::from(self.options.height);
        let mut sum = vec![Vec3::ZERO; pixels as usize];
        for (shown, &factor) in self.shown.iter().zip(&self.options.mix) {
            let layer: Vec<[f32; 4]> = self.gpu.read(shown, 0, pixels)?;
            for (sum, [r, g, b, _]) in sum.iter_mut().zip(layer) {
                *sum += factor * Vec3::new(r, g, b);
            }
        }
        Ok(sum)
    }

    /// Each light's picture so far, both engines weighted by trust.
    fn show(&mut self) -> Result<(), GpuError> {
        let first = self.raster.error_stops().hypot(RASTER_FLOOR_STOPS);
        let lights = self.session.lights();
        for light in 0..lights {
            let shares: Vec<f32> = (0..self.session.tiles() as usize)
                .map(|tile| share(first, self.session.parts[tile * lights + light]))
                .collect();
            let look = self.raster.look(light).map(|(sums, weight)| FirstLook {
                sums,
                weight,
                shares: &shares,
            });
            self.shower.show(&self.card, &self.session, light, look, &self.shown[light])?;
        }
        Ok(())
    }

    /// The developed picture on the card: a word a pixel, row by row, red in the low byte.
    pub fn picture(&self) -> &wgpu::Buffer {
        self.developer.picture()
    }

    /// The developed picture. Waits for the card.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn read(&self) -> Result<Vec<[u8; 4]>, GpuError> {
        self.developer.read(&self.gpu)
    }

    /// The tracer's layers so far.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn layers(&self) -> Result<Layers, GpuError> {
        self.session.layers(&self.card, &self.tracer)
    }
}

/// Share of the tracer where the engines are off by so many stops.
fn share(first: f32, traced: f32) -> f32 {
    if traced.is_infinite() { 0.0 } else { first * first / (first * first + traced * traced) }
}

/// Error of both weighted so.
fn together(first: f32, traced: f32) -> f32 {
    if traced.is_infinite() { first } else { first * traced / first.hypot(traced).max(1e-9) }
}
