//! The set as plain solids, drawn on a thread of its own: a depth buffer in software, so that it
//! looks the same on every machine and the interface never waits for it.

use std::sync::Arc;

use glam::{Vec2, Vec3};

use super::orbit::Eye;
use super::worker::{Desk, Threads};
use crate::stage::{Role, Stage};

/// What is drawn.
#[derive(Debug, Clone)]
pub struct Sight {
    /// The set.
    pub stage: Arc<Stage>,
    /// From where, its size in pixels.
    pub eye: Eye,
    /// Colour where there is nothing, sRGB.
    pub ground: [u8; 3],
}

impl PartialEq for Sight {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.stage, &other.stage)
            && self.eye == other.eye
            && self.ground == other.ground
    }
}

/// A drawing.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// Counts drawings.
    pub number: u64,
    /// Pixels across and down.
    pub size: [usize; 2],
    /// Three bytes a pixel.
    pub rgb: Arc<Vec<u8>>,
}

/// How light a surface of this role looks when it faces the eye.
fn tone(role: Role, reflectance: Vec3) -> Vec3 {
    let own = reflectance.powf(1.0 / 2.2);
    // paint is hinted at, so that what is what can be told apart
    let base = match role {
        Role::Room => Vec3::splat(0.42),
        Role::Cloth => Vec3::splat(0.55),
        Role::SetBox => Vec3::splat(0.5),
        Role::Skin | Role::Eye => Vec3::new(0.72, 0.6, 0.52),
        Role::Hair => Vec3::splat(0.3),
        Role::Garment => Vec3::splat(0.5),
        Role::Fixture => Vec3::splat(0.2),
        Role::Board => Vec3::splat(0.3),
    };
    base.lerp(own, 0.45)
}

/// Draws the set. Walls between the eye and the room's inside are left out.
pub fn draw(sight: &Sight) -> Vec<u8> {
    let eye = &sight.eye;
    let (width, height) = (eye.size.x.max(1.0) as usize, eye.size.y.max(1.0) as usize);
    let mut depth = vec![f32::INFINITY; width * height];
    let mut rgb: Vec<u8> = sight.ground.iter().copied().cycle().take(3 * width * height).collect();
    let room = &sight.stage.room;
    let middle = 0.5 * (room.min + room.max);
    for mesh in &sight.stage.meshes {
        let seen: Vec<Option<(Vec2, f32)>> =
            mesh.positions.iter().map(|&point| eye.project(point)).collect();
        let color = tone(mesh.role, mesh.surface.reflectance);
        for &[a, b, c] in &mesh.triangles {
            let [a, b, c] = [a as usize, b as usize, c as usize];
            let (Some(pa), Some(pb), Some(pc)) = (seen[a], seen[b], seen[c]) else { continue };
            let (wa, wb, wc) = (mesh.positions[a], mesh.positions[b], mesh.positions[c]);
            let mut normal = (wb - wa).cross(wc - wa).normalize_or(Vec3::Y);
            if mesh.role == Role::Room {
                // the inside counts
                if normal.dot(middle - wa) < 0.0 {
                    normal = -normal;
                }
                if normal.dot(eye.position - wa) <= 0.0 {
                    continue;
                }
            }
            let to_eye = (eye.position - wa).normalize_or(Vec3::Z);
            let facing = normal.dot(to_eye).abs();
            // a little light from above tells up from down
            let up = if normal.dot(to_eye) < 0.0 { -normal.y } else { normal.y };
            let shade = 0.35 + 0.5 * facing + 0.15 * up;
            let bytes = (color * shade).to_array().map(|v| (v.clamp(0.0, 1.0) * 255.0) as u8);
            fill([pa, pb, pc], bytes, (width, height), &mut depth, &mut rgb);
        }
    }
    rgb
}

/// Fills a triangle where it is nearer than what is there. Depth goes by its inverse, which is
/// straight across the view.
fn fill(
    corners: [(Vec2, f32); 3],
    color: [u8; 3],
    (width, height): (usize, usize),
    depth: &mut [f32],
    rgb: &mut [u8],
) {
    let [(a, za), (b, zb), (c, zc)] = corners;
    let area = (b - a).perp_dot(c - a);
    let low = a.min(b).min(c);
    let high = a.max(b).max(c);
    if area.abs() < 1e-9 || high.x < 0.0 || high.y < 0.0 {
        return;
    }
    let (x0, y0) = (low.x.max(0.0).floor() as usize, low.y.max(0.0).floor() as usize);
    let (x1, y1) = ((high.x.ceil() as usize).min(width), (high.y.ceil() as usize).min(height));
    let (ia, ib, ic) = (1.0 / za, 1.0 / zb, 1.0 / zc);
    let inverse = 1.0 / area;
    for y in y0..y1 {
        for x in x0..x1 {
            let p = Vec2::new(x as f32 + 0.5, y as f32 + 0.5);
            let u = (p - a).perp_dot(c - a) * inverse;
            let v = (b - a).perp_dot(p - a) * inverse;
            if u < -1e-5 || v < -1e-5 || u + v > 1.00001 {
                continue;
            }
            let z = 1.0 / (ia * (1.0 - u - v) + ib * u + ic * v);
            let at = y * width + x;
            if z < depth[at] {
                depth[at] = z;
                rgb[3 * at..3 * at + 3].copy_from_slice(&color);
            }
        }
    }
}

#[derive(Default)]
struct State {
    asked: Option<Sight>,
    drawn: Option<Sight>,
    drawing: Option<Drawing>,
}

/// The drawing thread; ended when dropped.
pub struct Solid {
    desk: Arc<Desk<State>>,
    /// Waited for once the desk is closed.
    _threads: Threads,
}

impl Solid {
    /// Starts it; `wake` is called when there is a new drawing.
    pub fn start(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let desk = Arc::<Desk<State>>::default();
        let own = desk.clone();
        let _threads = Threads::default().with("solid", move || run(&own, wake));
        Self { desk, _threads }
    }

    /// Asks for a drawing; the newest wish wins.
    pub fn ask(&self, sight: Sight) {
        if self.desk.lock().asked.as_ref() != Some(&sight) {
            self.desk.change(|state| state.asked = Some(sight));
        }
    }

    /// The newest drawing.
    pub fn drawing(&self) -> Option<Drawing> {
        self.desk.lock().drawing.clone()
    }
}

impl Drop for Solid {
    fn drop(&mut self) {
        self.desk.close();
    }
}

fn run(desk: &Desk<State>, wake: impl Fn()) {
    let mut number = 0;
    let open =
        |state: &mut State| state.asked.clone().filter(|ask| state.drawn.as_ref() != Some(ask));
    while let Some(sight) = desk.next(open) {
        let rgb = draw(&sight);
        number += 1;
        let size = [sight.eye.size.x.max(1.0) as usize, sight.eye.size.y.max(1.0) as usize];
        desk.change(|state| {
            state.drawing = Some(Drawing { number, size, rgb: Arc::new(rgb) });
            state.drawn = Some(sight);
        });
        wake();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::orbit::Orbit;

    #[test]
    fn the_nearer_surface_is_seen() {
        let corners = |z: f32| {
            [(Vec2::new(0.0, 0.0), z), (Vec2::new(20.0, 0.0), z), (Vec2::new(0.0, 20.0), z)]
        };
        let mut depth = vec![f32::INFINITY; 100];
        let mut rgb = vec![0; 300];
        fill(corners(2.0), [9, 9, 9], (10, 10), &mut depth, &mut rgb);
        fill(corners(3.0), [5, 5, 5], (10, 10), &mut depth, &mut rgb);
        assert_eq!(rgb[0], 9);
        fill(corners(1.0), [7, 7, 7], (10, 10), &mut depth, &mut rgb);
        assert_eq!(rgb[0], 7);
    }

    #[test]
    fn a_set_is_seen_into_from_outside_its_walls() {
        let plan = crate::plan::parse_draft("(format: 1, sitter: ())", "test").unwrap();
        let stage = Arc::new(crate::stage::build(&plan).unwrap());
        let eye = Orbit::default().eye(Vec2::new(120.0, 90.0));
        let rgb = draw(&Sight { stage, eye, ground: [1, 2, 3] });
        let ground = rgb.chunks_exact(3).filter(|pixel| *pixel == [1, 2, 3]).count();
        assert!(ground < 120 * 90 / 2, "the room fills the view");
        let warm = rgb.chunks_exact(3).filter(|pixel| pixel[0] > pixel[2] + 25).count();
        assert!(warm > 20, "the sitter is not hidden by the front wall");
    }
}
