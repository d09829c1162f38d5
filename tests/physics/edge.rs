//! Shadow edges: width of the penumbra in renders, by a fit of the disc source's own profile.
//!
//! ```text
//!   source ○ D          a: source to edge
//!          │ \          b: edge to plane
//!     ▓▓▓▓▓┘  \         width = D·b/a, lit share at u = 2x/width:
//!   ───────▒▒▒▒───      (acos(−u) + u√(1−u²))/π
//! ```

use foreshadow::stage::{Mesh, Source, Stage};
use glam::{DMat3, DVec3, Vec3};

use crate::set::{across, camera, close, disc, light, quad, render, square, stage, within};

/// A fitted edge.
#[derive(Debug, Clone, Copy)]
pub struct Edge {
    /// Full width of the penumbra.
    pub width_m: f64,
    /// One standard deviation of it, from the fit's residual.
    pub error_m: f64,
    /// Step from shadow to light.
    pub step: f64,
    /// Level in the shadow, on the edge's line.
    pub shadow: f64,
}

/// Lit share of a disc source over u = 2x/width.
fn lit_share(u: f64) -> f64 {
    let u = u.clamp(-1.0, 1.0);
    ((-u).acos() + u * (1.0 - u * u).sqrt()) / std::f64::consts::PI
}

/// Fits step · lit_share(2x/width) + shadow + slope·x to a profile whose edge lies at x = 0.
pub fn fit(profile: &[(f64, f64)], expected_m: f64) -> Edge {
    let solve = |width: f64| {
        let (mut normal, mut right, mut total) = (DMat3::ZERO, DVec3::ZERO, 0.0);
        for &(x, value) in profile {
            let basis = DVec3::new(lit_share(2.0 * x / width), 1.0, x / expected_m);
            normal += DMat3::from_cols(basis * basis.x, basis * basis.y, basis * basis.z);
            right += basis * value;
            total += value * value;
        }
        let found = normal.inverse() * right;
        (total - found.dot(right), found)
    };
    let (mut low, mut high) = (0.4 * expected_m, 2.5 * expected_m);
    for _ in 0..60 {
        let (a, b) = (low + 0.382 * (high - low), low + 0.618 * (high - low));
        if solve(a).0 < solve(b).0 { high = b } else { low = a }
    }
    let width_m = 0.5 * (low + high);
    let (rest, found) = solve(width_m);
    let h = 0.1 * width_m;
    let curvature = (solve(width_m + h).0 + solve(width_m - h).0 - 2.0 * rest) / (h * h);
    let noise = rest.max(0.0) / (profile.len() - 4) as f64;
    Edge { width_m, error_m: (2.0 * noise / curvature).sqrt(), step: found.x, shadow: found.y }
}

/// A board's edge `b` before a plane, sources `a` before the edge; more meshes around them.
pub fn edge_stage(sources: Vec<Source>, b: f32, width_m: f64, around: Vec<Mesh>) -> Stage {
    let plane = square("plane", Vec3::ZERO, Vec3::Z, 4.0, 0.5);
    let corners = [(-1.5, -1.2), (0.0, -1.2), (0.0, 1.2), (-1.5, 1.2)];
    let board = quad("board", corners.map(|(x, y)| Vec3::new(x, y, b)), Vec3::ZERO);
    let from = Vec3::Z * (0.8 * b);
    let field = 2.0 * (1.2 * width_m / f64::from(0.8 * b)).atan();
    let mut meshes = vec![plane, board];
    meshes.extend(around);
    let lights = sources.into_iter().map(|source| light("source", source)).collect();
    stage(meshes, lights, camera(from, Vec3::ZERO, field.to_degrees()))
}

/// Renders and fits one layer's edge.
pub fn rendered(stage: &Stage, layer: usize, b: f32, expected_m: f64, samples: u32) -> Edge {
    let layers = render(stage, [96, 12], samples, 5);
    fit(&across(&layers, layer, &stage.camera, f64::from(0.8 * b)), expected_m)
}

/// Similar triangles: D·b/a.
#[test]
fn penumbra_width_of_disc_sources() {
    for (diameter, a, b) in [
        (0.18, 2.5, 1.0f32),
        (0.6, 1.5, 0.05),
        (0.18, 2.0, 0.5),
        (0.05, 1.0, 0.3),
        (0.4, 3.0, 0.25),
        (1.2, 4.0, 0.1),
    ] {
        let expected = diameter * f64::from(b) / f64::from(a);
        let lamp = disc(0.5 * diameter, Vec3::Z * (a + b), -Vec3::Z, 10.0);
        let got = rendered(&edge_stage(vec![lamp], b, expected, vec![]), 0, b, expected, 48);
        eprintln!("{diameter} {a} {b}: {got:?}, expected {expected}");
        assert!(got.error_m < 0.02 * expected, "noise {got:?}");
        close(got.width_m, expected, 0.05);
        within(got.shadow / got.step, 0.0, 0.02);
    }
}

/// The published points of the profile itself: u = ±½ give .8044989 and .1955011.
#[test]
fn edge_profile_at_half_way() {
    within(lit_share(0.5), 0.804_498_9, 1e-6);
    within(lit_share(-0.5), 0.195_501_1, 1e-6);
    let (a, b, diameter) = (2.0f32, 0.5, 0.2);
    let width = diameter * f64::from(b) / f64::from(a);
    let lamp = disc(0.5 * diameter, Vec3::Z * (a + b), -Vec3::Z, 10.0);
    let stage = edge_stage(vec![lamp], b, width, vec![]);
    let layers = render(&stage, [96, 32], 96, 3);
    let profile = across(&layers, 0, &stage.camera, f64::from(0.8 * b));
    let mean = |from: f64, to: f64| {
        let inside: Vec<f64> =
            profile.iter().filter(|(x, _)| (from..to).contains(x)).map(|(_, v)| *v).collect();
        inside.iter().sum::<f64>() / inside.len() as f64
    };
    let lit = mean(0.55 * width, 1.2 * width);
    for (u, share) in [(0.5, 0.804_498_9), (-0.5, 0.195_501_1), (0.0, 0.5)] {
        let x = 0.5 * u * width;
        let got = mean(x - 0.06 * width, x + 0.06 * width) / lit;
        eprintln!("u {u}: {got}, expected {share}");
        within(got, share, 0.015);
    }
    assert!(mean(-1.2 * width, -0.55 * width) < 1e-6 * lit);
}
