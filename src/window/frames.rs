//! Kept frames: pictures with the plan they were taken of, to compare and to go back to.

use std::sync::Arc;

use eframe::egui;
use glam::Vec3;

use super::engine::{Shown, resized};
use crate::optics::color::luminance;
use crate::picture::{Picture, map};
use crate::plan::Plan;

/// A kept frame.
#[derive(Clone)]
pub struct Frame {
    /// What it is called.
    pub name: String,
    /// What was set.
    pub caption: String,
    /// The plan.
    pub plan: Arc<Plan>,
    /// The sensor's values.
    pub picture: Arc<Picture>,
    /// Developed, three bytes a pixel.
    pub rgb: Arc<Vec<u8>>,
    /// For the strip, once it is shown.
    pub texture: Option<egui::TextureHandle>,
}

impl Frame {
    /// Of the picture that is shown.
    pub fn of(shown: &Shown, name: String) -> Self {
        Self {
            name,
            caption: caption(&shown.plan),
            plan: shown.plan.clone(),
            picture: shown.picture.clone(),
            rgb: shown.rgb.clone(),
            texture: None,
        }
    }

    /// Pixels across and down.
    pub fn size(&self) -> [usize; 2] {
        [self.picture.width as usize, self.picture.height as usize]
    }
}

/// Lights that are on with their power, and the aperture.
pub fn caption(plan: &Plan) -> String {
    let lights = plan.lights.iter().filter(|light| light.on);
    let mut words: Vec<String> = lights
        .map(|light| {
            let power = light.power.display();
            format!("{} {}", light.name, power.split(" (").next().unwrap_or(&power))
        })
        .collect();
    words.push(plan.camera.aperture.to_string());
    words.join(" · ")
}

/// How two pictures are looked at together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Compare {
    /// One beside the other.
    #[default]
    Beside,
    /// One left of a line, the other right of it.
    Wipe,
    /// The other over it, seen through.
    Over,
    /// Stops that the picture lies over the other, in bands of colour.
    Difference,
}

/// What the picture is compared with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Other {
    /// A kept frame by its place on the strip.
    Kept(usize),
    /// The reference picture.
    Reference,
}

/// Stops that `picture` lies over `other` in the bands of the map, at the picture's size; what is
/// black in both is grey.
pub fn difference(picture: &Picture, other: &Picture) -> Vec<u8> {
    let (size, old) = ((picture.width, picture.height), (other.width, other.height));
    let other: Vec<Vec3> = match size == old {
        true => other.pixels.clone(),
        false => resized(&other.pixels, old, size),
    };
    /// Ten stops under grey: darker than any paper or screen shows.
    const DARK: f32 = 0.18 / 1024.0;
    let pairs = picture.pixels.iter().zip(&other);
    pairs
        .flat_map(|(a, b)| {
            let stops = (luminance(*a).max(DARK) / luminance(*b).max(DARK)).log2();
            map::color_of(f64::from(stops)).to_array().map(|v| (v * 255.0 + 0.5) as u8)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_pictures_differ_nowhere_and_a_stop_is_a_stop() {
        let flat = |level: f32, width: u32| Picture {
            width,
            height: 2,
            pixels: vec![Vec3::splat(level); 2 * width as usize],
        };
        let bytes = |stops: f64| map::color_of(stops).to_array().map(|v| (v * 255.0 + 0.5) as u8);
        assert_eq!(difference(&flat(0.2, 3), &flat(0.2, 6))[..3], bytes(0.0));
        assert_eq!(difference(&flat(0.4, 3), &flat(0.2, 3))[..3], bytes(1.0));
        assert_ne!(bytes(0.0), bytes(1.0));
    }
}
