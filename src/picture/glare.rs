//! The glow of a diffusion filter: each pixel spread by the published glare (`optics::glare`), in
//! linear light.
//!
//! ```text
//!   kernel, a quarter of it:   k(0,0) k(1,0) … k(W,0)      the rest is its mirror image
//!                                ⋮             ⋮
//!                              k(0,H)   …    k(W,H)        veil: what falls farther than that
//! ```
//! What lies beyond the picture's edges is taken to be the picture's mirror image, so an even
//! picture stays even and exactly as much light comes in over the edges as leaves. For that
//! surround a symmetric spread is a product of cosine transforms (Martucci 1994, 'Symmetric
//! convolution and the discrete sine and cosine transforms'): two a channel, of the picture's own
//! size. The kernel is plain data, so that another engine can spread by the same.

use std::sync::Arc;

use glam::Vec3;
use rayon::prelude::*;
use rustdct::{Dct1, DctPlanner, TransformType2And3};

use super::view::Frame;
use crate::optics::glare::{encircled, spread_per_sr};
use crate::optics::quadrature::gauss_legendre_unit;

/// Light of one pixel on itself and its neighbours: shares of the whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Kernel {
    /// Pixels the kernel reaches across and down: the picture's size.
    pub reach: [u32; 2],
    /// Shares at offsets 0 to reach, across then down: (W + 1)·(H + 1) values.
    pub taps: Vec<f32>,
    /// Share that falls beyond the reach; spread evenly.
    pub veil: f32,
}

/// Points a side of a pixel that many pixels away: the spread is steep near its middle.
const FINENESS: [(u32, usize); 4] = [(2, 16), (6, 8), (24, 3), (u32::MAX, 1)];

impl Kernel {
    /// For a picture's frame.
    pub fn new(frame: &Frame) -> Self {
        let [w, h] = frame.size;
        let side = frame.pixel_tan();
        let rules = FINENESS.map(|(within, n)| (within, gauss_legendre_unit(n)));
        let columns = w as usize + 1;
        let mut taps = vec![0.0f32; columns * (h as usize + 1)];
        taps.par_chunks_mut(columns).enumerate().for_each(|(dy, row)| {
            for (dx, tap) in row.iter_mut().enumerate() {
                let far = dx.max(dy) as u32;
                let rule = rules.iter().find(|(within, _)| far <= *within).map(|(_, rule)| rule);
                let offset = [dx as f64, dy as f64];
                *tap = match rule {
                    Some(rule) if far > 0 => tap_at(offset, side, rule),
                    _ => own_pixel(side),
                } as f32;
            }
        });
        let mut kernel = Self { reach: [w, h], taps, veil: 0.0 };
        kernel.veil = (1.0 - kernel.total()).max(0.0) as f32;
        kernel
    }

    /// Sum over the whole kernel without the veil. The last column and row stand half on each side.
    pub fn total(&self) -> f64 {
        let [w, h] = self.reach.map(|n| n as usize);
        let weight = |at: usize, last: usize| if at == 0 || at == last { 1.0 } else { 2.0 };
        self.taps
            .iter()
            .enumerate()
            .map(|(i, &tap)| {
                let (x, y) = (i % (w + 1), i / (w + 1));
                weight(x, w) * weight(y, h) * f64::from(tap)
            })
            .sum()
    }
}

/// ∫P dΩ over a pixel off the middle. The film is flat: dΩ = cos³θ dA.
fn tap_at(offset: [f64; 2], side: [f64; 2], rule: &[(f64, f64)]) -> f64 {
    let mut sum = 0.0;
    for &(v, wv) in rule {
        let y = (offset[1] + v - 0.5) * side[1];
        for &(u, wu) in rule {
            let x = (offset[0] + u - 0.5) * side[0];
            let tan2 = x * x + y * y;
            let cos = 1.0 / (1.0 + tan2).sqrt();
            sum += wu * wv * cos.powi(3) * spread_per_sr(tan2.sqrt().atan());
        }
    }
    sum * side[0] * side[1]
}

/// The share within the middle pixel: the encircled share, averaged over the way round.
fn own_pixel(side: [f64; 2]) -> f64 {
    let quarter = std::f64::consts::FRAC_PI_2;
    let split = (side[1] / side[0]).atan();
    let wedge = |from: f64, to: f64, edge: &dyn Fn(f64) -> f64| {
        let width = to - from;
        gauss_legendre_unit(16)
            .into_iter()
            .map(|(x, weight)| weight * width * encircled(edge(from + x * width).atan()))
            .sum::<f64>()
    };
    let across = wedge(0.0, split, &|phi| 0.5 * side[0] / phi.cos());
    let down = wedge(split, quarter, &|phi| 0.5 * side[1] / phi.sin());
    (across + down) / quarter
}

/// Spreads `share` of each pixel's light by the kernel and leaves the rest where it is.
pub fn spread(pixels: &mut [Vec3], kernel: &Kernel, share: f32) {
    let [w, h] = kernel.reach.map(|n| n as usize);
    let spectrum = spectrum(kernel);
    let mut planner = DctPlanner::new();
    let (across, down) = (planner.plan_dct2(w), planner.plan_dct2(h));
    let passes = Transforms { across, down, w, h };
    // transform back and forth: WH/4
    let scale = 4.0 / (w as f32 * h as f32);
    for channel in 0..3 {
        let mean = pixels.par_iter().map(|p| f64::from(p[channel])).sum::<f64>() / (w * h) as f64;
        let mut plane: Vec<f32> = pixels.iter().map(|p| p[channel]).collect();
        passes.forward(&mut plane);
        plane.par_iter_mut().zip(&spectrum).for_each(|(value, factor)| *value *= factor);
        passes.back(&mut plane);
        let veil = kernel.veil * mean as f32;
        pixels.par_iter_mut().zip(&plane).for_each(|(pixel, &value)| {
            let glow = (value * scale + veil).max(0.0);
            pixel[channel] += share * (glow - pixel[channel]);
        });
    }
}

/// The kernel's cosine transform at the frequencies that a picture of its reach has.
pub(super) fn spectrum(kernel: &Kernel) -> Vec<f32> {
    let [w, h] = kernel.reach.map(|n| n as usize);
    let mut planner = DctPlanner::new();
    let (across, down): (Arc<dyn Dct1<f32>>, Arc<dyn Dct1<f32>>) =
        (planner.plan_dct1(w + 1), planner.plan_dct1(h + 1));
    let mut values = kernel.taps.clone();
    values.par_chunks_mut(w + 1).for_each(|row| across.process_dct1(row));
    let mut turned = transposed(&values, w + 1);
    turned.par_chunks_mut(h + 1).for_each(|row| down.process_dct1(row));
    let values = transposed(&turned, h + 1);
    // a transform takes each side's sum once; the kernel has it on both sides, across and down
    values.chunks(w + 1).take(h).flat_map(|row| row[..w].iter().map(|value| 4.0 * value)).collect()
}

struct Transforms {
    across: Arc<dyn TransformType2And3<f32>>,
    down: Arc<dyn TransformType2And3<f32>>,
    w: usize,
    h: usize,
}

impl Transforms {
    fn forward(&self, plane: &mut Vec<f32>) {
        plane.par_chunks_mut(self.w).for_each(|row| self.across.process_dct2(row));
        let mut turned = transposed(plane, self.w);
        turned.par_chunks_mut(self.h).for_each(|row| self.down.process_dct2(row));
        *plane = transposed(&turned, self.h);
    }

    fn back(&self, plane: &mut Vec<f32>) {
        plane.par_chunks_mut(self.w).for_each(|row| self.across.process_dct3(row));
        let mut turned = transposed(plane, self.w);
        turned.par_chunks_mut(self.h).for_each(|row| self.down.process_dct3(row));
        *plane = transposed(&turned, self.h);
    }
}

/// Rows to columns.
fn transposed(values: &[f32], width: usize) -> Vec<f32> {
    let height = values.len() / width;
    let mut out = vec![0.0; values.len()];
    out.par_chunks_mut(height).enumerate().for_each(|(x, column)| {
        for (y, value) in column.iter_mut().enumerate() {
            *value = values[y * width + x];
        }
    });
    out
}
