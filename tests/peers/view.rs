//! The view that two renderers share: a size with square pixels, and the pixels that both show.

use foreshadow::stage::source::Emitter;
use foreshadow::stage::{Camera, Stage};
use foreshadow::trace::Tracer;
use glam::Vec2;

/// Pixels across and down with the frame's own shape, `longest` or a little more on the longer
/// side, so that pixels are square to a thousandth.
pub fn size(camera: &Camera, longest: u32) -> (u32, u32) {
    let [width_m, height_m] = camera.sensor_m;
    let ratio = width_m.min(height_m) / width_m.max(height_m);
    let off = |long: u32| {
        let short = f64::from(long) * ratio;
        (short.round() / short - 1.0).abs()
    };
    let long = (longest..2 * longest)
        .find(|&long| off(long) < 1e-3)
        .unwrap_or_else(|| panic!("no small size has the shape of {:?}", camera.sensor_m));
    let short = (f64::from(long) * ratio).round() as u32;
    if width_m >= height_m { (long, short) } else { (short, long) }
}

/// Pixels that don't look straight at the front of any of `lights`: the lens sees our fronts,
/// while a Mitsuba source made of points is invisible.
pub fn unlit_pixels(
    stage: &Stage,
    tracer: &Tracer,
    lights: &[usize],
    (width, height): (u32, u32),
) -> Vec<bool> {
    let emitters: Vec<Emitter> =
        lights.iter().map(|&light| Emitter::of(&stage.lights[light])).collect();
    let sees = |x: f32, y: f32| {
        let film = Vec2::new(x / width as f32, y / height as f32);
        // the middle of the pupil and three points near its rim
        [(0.0, 0.0), (0.9, 0.1), (0.9, 0.43), (0.9, 0.77)].iter().any(|&(r, phi)| {
            let (origin, direction) = stage.camera.ray(film, Vec2::new(r, phi));
            let reach = tracer.scene.intersect(origin, direction).map_or(1e6, |hit| hit.distance);
            emitters.iter().any(|emitter| {
                let mut crossed = false;
                emitter.crossings(origin, direction, reach, |_, _| crossed = true);
                crossed
            })
        })
    };
    (0..width * height)
        .map(|pixel| {
            let (x, y) = ((pixel % width) as f32, (pixel / width) as f32);
            // a pixel and a third of each neighbour
            let steps = [-0.33, 0.0, 0.33, 0.67, 1.0, 1.33];
            !steps.iter().any(|dy| steps.iter().any(|dx| sees(x + dx, y + dy)))
        })
        .collect()
}
