//! What a lens does to a picture, on the card: [`Taking::picture`] and [`super::super::develop`] in
//! one.
//!
//! What depends on the lens alone (the glow's spectrum, shares of curtains and fall-off) is made
//! again only where the lens, the shutter or the frame change; stray light, where there is any,
//! with every change of the mix.

use bytemuck::{Pod, Zeroable};
use glam::Vec3;

use super::glow::Glow;
use super::{ACROSS, Developer, ToneOnCard, with_tone};
use crate::gpu::{Gpu, GpuError, Kernel, Slot};
use crate::layers::LightKind;
use crate::picture::tone::{Development, Tone};
use crate::picture::view::Frame;
use crate::picture::{Mix, Taking};

/// A light's layer on the card.
#[derive(Debug, Clone, Copy)]
pub struct CardLayer<'a> {
    /// The light.
    pub name: &'a str,
    /// Flash or steady.
    pub kind: LightKind,
    /// vec4f a pixel, row by row.
    pub pixels: &'a wgpu::Buffer,
}

/// `Finish` of shaders/picture/finish.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
struct Finish {
    tone: ToneOnCard,
    pixels: u32,
    across: u32,
    two: u32,
    shaded: u32,
    stray: u32,
    pad: [u32; 3],
}

pub(super) fn module() -> String {
    with_tone(include_str!("../../../shaders/picture/finish.wgsl"))
}

/// Develops pictures of one size through a lens.
#[derive(Debug)]
pub struct LensDeveloper {
    developer: Developer,
    size: (u32, u32),
    kernel: Kernel,
    layout: wgpu::BindGroupLayout,
    /// Steady light alone, where curtains cut the flash.
    steady: Option<wgpu::Buffer>,
    glow: Option<Glow>,
    shares: Option<wgpu::Buffer>,
    strays: Option<wgpu::Buffer>,
    /// What these are for.
    made: Option<(Taking, Vec<String>)>,
}

impl LensDeveloper {
    /// For pictures of a size.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn new(gpu: &Gpu, size: (u32, u32)) -> Result<Self, GpuError> {
        use Slot::{Read, Uniform, Write};
        let slots = [Uniform, Read, Read, Read, Read, Write];
        let layout = gpu.layout("finish", wgpu::ShaderStages::COMPUTE, &slots);
        let kernel = gpu.kernel("finish", &module(), "finish_pixels", &[&layout])?;
        let developer = Developer::new(gpu, size.0 * size.1)?;
        Ok(Self {
            developer,
            size,
            kernel,
            layout,
            steady: None,
            glow: None,
            shares: None,
            strays: None,
            made: None,
        })
    }

    /// Puts a development of `layers` as `taking` takes them on the card's list of work. Does not
    /// wait.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn develop(
        &mut self,
        gpu: &Gpu,
        layers: &[CardLayer<'_>],
        taking: &Taking,
        development: impl Into<Development>,
    ) -> Result<(), GpuError> {
        self.work(gpu, layers, taking, development.into(), false)
    }

    /// Puts a development of `layers` (vec4f a pixel each) with the mix's factors on the card's
    /// list of work, as a lens without filter, flare or fall-off shows them. Does not wait.
    pub fn plain(
        &self,
        gpu: &Gpu,
        layers: &[&wgpu::Buffer],
        factors: &[Vec3],
        development: impl Into<Development>,
    ) {
        self.developer.develop(gpu, layers, factors, development);
    }

    /// The picture before it is developed, as [`Taking::picture`] gives it but for curtains,
    /// fall-off and stray light, which come with development. Waits for the card.
    ///
    /// # Errors
    /// Where the card has no room, or went away.
    pub fn linear(
        &mut self,
        gpu: &Gpu,
        layers: &[CardLayer<'_>],
        taking: &Taking,
    ) -> Result<Vec<Vec3>, GpuError> {
        self.work(gpu, layers, taking, Tone::Straight.into(), true)?;
        let pixels =
            gpu.read::<[f32; 4]>(&self.developer.linear, 0, u64::from(self.developer.pixels))?;
        Ok(pixels.into_iter().map(|[r, g, b, _]| Vec3::new(r, g, b)).collect())
    }

    fn work(
        &mut self,
        gpu: &Gpu,
        layers: &[CardLayer<'_>],
        taking: &Taking,
        development: Development,
        keep_linear: bool,
    ) -> Result<(), GpuError> {
        self.prepare(gpu, layers, taking)?;
        let plain = self.glow.is_none() && self.shares.is_none() && self.strays.is_none();
        let of = |kept: &dyn Fn(LightKind) -> bool| -> (Vec<&wgpu::Buffer>, Vec<Vec3>) {
            let kept = layers.iter().filter(|layer| kept(layer.kind));
            kept.map(|l| (l.pixels, taking.mix.factor(l.name, l.kind))).unzip()
        };
        if plain && !keep_linear {
            let (buffers, factors) = of(&|_| true);
            self.developer.develop(gpu, &buffers, &factors, development);
            return Ok(());
        }
        let developer = &self.developer;
        let mut encoder = gpu.device.create_command_encoder(&Default::default());
        let share = taking.lens.filter as f32;
        let mut sum = |kept: &dyn Fn(LightKind) -> bool, linear: &wgpu::Buffer| {
            let (buffers, factors) = of(kept);
            developer.mix(gpu, &mut encoder, (&buffers, &factors), linear, None);
            if let Some(glow) = &self.glow {
                glow.spread(gpu, &mut encoder, linear, share);
            }
        };
        match &self.steady {
            None => sum(&|_| true, &developer.linear),
            Some(steady) => {
                sum(&|kind| kind == LightKind::Flash, &developer.linear);
                sum(&|kind| kind == LightKind::Continuous, steady);
            }
        }
        let pixels = developer.pixels;
        let finish = Finish {
            tone: development.into(),
            pixels,
            across: ACROSS.min(pixels),
            two: self.steady.is_some().into(),
            shaded: self.shares.is_some().into(),
            stray: self.strays.is_some().into(),
            pad: [0; 3],
        };
        let uniform = gpu.uniform("finish", &finish);
        let nothing = &developer.nothing;
        let buffers = [
            &uniform,
            &developer.linear,
            self.steady.as_ref().unwrap_or(nothing),
            self.shares.as_ref().unwrap_or(nothing),
            self.strays.as_ref().unwrap_or(nothing),
            &developer.picture,
        ];
        let group = gpu.group("finish", &self.layout, &buffers);
        developer.dispatch(&mut encoder, &self.kernel, &group);
        gpu.queue.submit([encoder.finish()]);
        Ok(())
    }

    /// Brings what lies on the card up to `taking`.
    fn prepare(
        &mut self,
        gpu: &Gpu,
        layers: &[CardLayer<'_>],
        taking: &Taking,
    ) -> Result<(), GpuError> {
        let names: Vec<String> = layers.iter().map(|layer| layer.name.to_owned()).collect();
        let frame = taking.view.cropped(self.size.0, self.size.1);
        let known = self.made.as_ref();
        let same_lens = known.is_some_and(|(old, _)| same_but_mix(old, taking));
        let same = known.is_some_and(|(old, lights)| old == taking && *lights == names);
        if same || (same_lens && taking.stray.is_empty() && self.strays.is_none()) {
            return Ok(());
        }
        self.made = None;
        if !same_lens {
            self.prepare_lens(gpu, taking, &frame)?;
        }
        self.strays = self.strays_of(gpu, taking, &frame, &names)?;
        self.made = Some((taking.clone(), names));
        Ok(())
    }

    fn prepare_lens(&mut self, gpu: &Gpu, taking: &Taking, frame: &Frame) -> Result<(), GpuError> {
        if taking.lens.filter <= 0.0 {
            self.glow = None;
        } else if self.glow.as_ref().is_none_or(|glow| glow.frame() != frame) {
            self.glow = Some(Glow::new(gpu, frame)?);
        }
        let shares = taking.shares(frame);
        let cut = shares.iter().flatten().any(|[flash, steady]| flash != steady);
        self.shares = shares.map(|shares| gpu.storage("shares", &shares)).transpose()?;
        let bytes = u64::from(self.developer.pixels) * 16;
        self.steady = cut.then(|| gpu.zeros("steady light", bytes)).transpose()?;
        Ok(())
    }

    /// Stray light as it is recorded.
    fn strays_of(
        &self,
        gpu: &Gpu,
        taking: &Taking,
        frame: &Frame,
        names: &[String],
    ) -> Result<Option<wgpu::Buffer>, GpuError> {
        let named = |name: &str| names.iter().any(|known| known == name);
        let kinds = [LightKind::Flash, LightKind::Continuous];
        let strays = kinds.map(|kind| taking.strays(frame, kind, &named));
        if strays.iter().all(Option::is_none) {
            return Ok(None);
        }
        let shares = taking.shares(frame);
        let mut sums = vec![[0.0f32; 4]; self.developer.pixels as usize];
        for (kind, stray) in strays.iter().enumerate() {
            for (pixel, value) in stray.iter().flatten().enumerate() {
                let share = shares.as_ref().map_or(1.0, |shares| shares[pixel][kind]);
                let sum = Vec3::from_slice(&sums[pixel]) + *value * share;
                sums[pixel] = sum.extend(0.0).to_array();
            }
        }
        Ok(Some(gpu.storage("stray light", &sums)?))
    }

    /// The picture: a word a pixel, row by row, red in the low byte.
    pub fn picture(&self) -> &wgpu::Buffer {
        &self.developer.picture
    }

    /// The picture, red, green, blue, opaque. Waits for the card.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn read(&self, gpu: &Gpu) -> Result<Vec<[u8; 4]>, GpuError> {
        self.developer.read(gpu)
    }
}

/// Whether two differ in the mix at most.
fn same_but_mix(a: &Taking, b: &Taking) -> bool {
    let bare = |taking: &Taking, mix: &Mix| Taking { mix: mix.clone(), ..taking.clone() };
    bare(a, &b.mix) == bare(b, &b.mix)
}
