//! Modifiers through the renderer: power, candela on the axis, beam and field angle, readings.

use std::f64::consts::PI;

use foreshadow::optics::beam::{Beam, Screen};
use foreshadow::stage::source::Emitter;
use glam::Vec2;

use crate::planned::{Range, built, light, plan};
use crate::set::{close, stops, within};

/// 400 W·s at 40 lm·s per W·s: the default head.
const HEAD_LM_S: f64 = 16_000.0;

/// cosⁿ with half its peak at half of `full` degrees: flux over candela is 2π/(n + 1).
fn cosine(full: f64) -> (f64, f64) {
    let n = -1.0 / (0.5 * full.to_radians()).cos().log2();
    let field = 2.0 * 0.1f64.powf(1.0 / n).acos().to_degrees();
    (2.0 * PI / (n + 1.0), field)
}

/// Flux over candela of a dish: ∫ 2^−(θ/θb)^k dΩ by its own fine sum.
fn dish(beam: f64, field: f64) -> f64 {
    let k = 10f64.log2().log2() / (field / beam).log2();
    let steps = 20_000;
    let d = 0.5 * PI / f64::from(steps);
    (0..steps)
        .map(|i| {
            let theta = d * (f64::from(i) + 0.5);
            (-(theta / (0.5 * beam.to_radians())).powf(k)).exp2() * theta.sin() * d * 2.0 * PI
        })
        .sum()
}

/// Fields of a light, its loss in stops, flux over candela (sr), beam and field in degrees.
fn round_modifiers() -> Vec<(&'static str, f64, f64, f64, f64)> {
    let soft = |loss, full| {
        let (sr, field) = cosine(full);
        (loss, sr, full, field)
    };
    let open = |loss, beam, field| (loss, dish(beam, field), beam, field);
    [
        ("modifier: Dish()", open(0.5, 55.0, 85.0)),
        ("modifier: Dish(), head: (tube: ())", open(0.5, 55.0, 85.0)),
        ("modifier: Dish(), cloth: (hot: 0)", soft(1.5, 110.0)),
        ("modifier: Dish(), cloth: (diameter: 0.3, beam: 90)", soft(1.5, 90.0)),
        ("modifier: ShortDish()", open(0.3, 85.0, 120.0)),
        ("modifier: LongThrow()", open(0.7, 20.0, 40.0)),
        ("modifier: BeautyDish()", open(1.0, 75.0, 115.0)),
        ("modifier: Ring()", open(0.5, 75.0, 115.0)),
        ("modifier: Panel(width: 0.9, height: 0.6)", soft(1.5, 120.0)),
        ("modifier: SoftBox()", soft(1.5, 110.0)),
        ("modifier: SoftBox(width: 0.3, height: 1.4, hot: 2)", soft(1.5, 110.0)),
        ("modifier: Octagon()", soft(1.5, 110.0)),
        ("modifier: BounceUmbrella(), fixture: false", soft(1.25, 95.0)),
    ]
    .map(|(fields, (loss, sr, beam, field))| (fields, loss, sr, beam, field))
    .to_vec()
}

/// Mean of what sampled rays carry: the flux that leaves by the sampler's own account.
fn emitted(emitter: &Emitter) -> f64 {
    const SIDE: u32 = 256;
    let mut sum = 0.0;
    for k in 0..SIDE * SIDE {
        let cell = Vec2::new((k % SIDE) as f32 + 0.5, (k / SIDE) as f32 + 0.5) / SIDE as f32;
        let turned = Vec2::new(cell.y, (cell.x * 97.0).fract());
        sum += f64::from(emitter.emit(cell, turned).flux);
    }
    sum / f64::from(SIDE * SIDE)
}

/// Emitted power is head × efficiency; candela on the axis is that over the beam's solid angle;
/// half and a tenth of it lie within 2 % of the stated angles; all from the render.
#[test]
fn round_modifiers_measure_as_stated() {
    for (fields, loss, sr, beam, field) in round_modifiers() {
        let stage = built(fields);
        let flux = HEAD_LM_S * (-loss).exp2();
        let emitter = Emitter::of(light(&stage));
        close(f64::from(emitter.flux()), flux, 0.002);
        close(emitted(&emitter), flux, 0.005);
        let range = Range::new(&stage);
        let on_axis = range.intensity(0.0, 0.0);
        close(on_axis, flux / sr, 0.02);
        for (share, full) in [(0.5, beam), (0.1, field)] {
            let at = |degrees: f64| range.intensity(degrees, 33.0) / on_axis;
            let (inside, outside) = (at(0.49 * full), at(0.51 * full));
            assert!(
                inside > share && outside < share,
                "{fields}: {inside} and {outside} about {share} at {full}°"
            );
        }
    }
}

/// The flux that the meter finds round a dish and a soft box, summed over the sphere.
#[test]
fn rendered_power_integrates_to_the_heads() {
    for (fields, loss) in [("modifier: Dish()", 0.5), ("modifier: Octagon(), fixture: false", 1.5)]
    {
        let range = Range::new(&built(fields));
        const RINGS: u32 = 24;
        // Fejér's first rule over cos θ would miss the narrow middle: even steps of θ do not
        let step = 0.5 * PI / f64::from(RINGS);
        let flux: f64 = (0..RINGS)
            .map(|ring| {
                let theta = step * (f64::from(ring) + 0.5);
                let azimuth = 137.5 * f64::from(ring);
                range.intensity(theta.to_degrees(), azimuth) * theta.sin() * step * 2.0 * PI
            })
            .sum();
        close(flux, HEAD_LM_S * f64::exp2(-loss), 0.005);
    }
}

/// A honeycomb keeps the axis (less a fifth of a stop), narrows the field to its own, and its
/// power is what passes: ∫ I·T dΩ.
#[test]
fn honeycomb_grids() {
    // a mouth so small that 14 m is far even for the cells of a narrow grid
    let bare = Range::new(&built("modifier: Dish(diameter: 0.02)")).intensity(0.0, 0.0);
    for degrees in [10.0f64, 20.0, 40.0] {
        let stage = built(&format!("modifier: Dish(diameter: 0.02), grid: {degrees}"));
        let range = Range::new(&stage);
        let on_axis = range.intensity(0.0, 0.0);
        within(stops(on_axis, bare), -0.2, 0.01);
        let beam = Beam::Dish { beam_rad: 55f64.to_radians(), field_rad: 85f64.to_radians() };
        let screen = Screen::Honeycomb { full_rad: degrees.to_radians() };
        let expected =
            |theta: f64| beam.relative_intensity(theta.cos()) * screen.transmission(theta, 0.0);
        for share in [0.25, 0.5, 0.75, 1.0] {
            let theta = 0.5 * share * degrees;
            close(range.intensity(theta, 70.0) / on_axis, expected(theta.to_radians()), 0.02);
        }
        assert!(range.intensity(0.7 * degrees, 0.0) < 1e-3 * on_axis, "dark past the cells");
        let steps = 40_000;
        let d = 0.5 * PI / f64::from(steps);
        let through: f64 = (0..steps)
            .map(|k| d * (f64::from(k) + 0.5))
            .map(|theta| expected(theta) * theta.sin() * d * 2.0 * PI)
            .sum();
        let flux = f64::from(Emitter::of(light(&stage)).flux());
        close(flux, bare * (-0.2f64).exp2() * through, 0.005);
        close(emitted(&Emitter::of(light(&stage))), flux, 0.005);
    }
}

/// An egg-crate: square cells, so wider across the diagonal than along the sides.
#[test]
fn egg_crates() {
    let stage = built("modifier: SoftBox(width: 0.06, height: 0.09, hot: 0), grid: 40");
    let range = Range::new(&stage);
    let on_axis = range.intensity(0.0, 0.0);
    let (sr, _) = cosine(110.0);
    within(stops(on_axis, HEAD_LM_S * (-1.5f64).exp2() / sr), -0.2, 0.02);
    let n = 2.0 * PI / sr - 1.0;
    for (theta, azimuth) in
        [(10.0f64, 0.0f64), (10.0, 45.0), (20.0, 0.0), (20.0, 90.0), (20.0, 45.0)]
    {
        let x = 0.9 * theta.to_radians().tan() / 20f64.to_radians().tan();
        let (sin, cos) = azimuth.to_radians().sin_cos();
        let expected = (1.0 - x * cos) * (1.0 - x * sin) * theta.to_radians().cos().powf(n);
        close(range.intensity(theta, azimuth) / on_axis, expected, 0.02);
    }
    close(
        emitted(&Emitter::of(light(&stage))),
        f64::from(Emitter::of(light(&stage)).flux()),
        0.005,
    );
}

/// Area that two circles `apart` share.
fn lens(a: f64, b: f64, apart: f64) -> f64 {
    if apart <= (a - b).abs() {
        return PI * a.min(b).powi(2);
    }
    let (u, v) = (
        (apart * apart + a * a - b * b) / (2.0 * apart),
        (apart * apart + b * b - a * a) / (2.0 * apart),
    );
    let cap = |r: f64, h: f64| r * r * (h / r).acos() - h * (r * r - h * h).sqrt();
    cap(a, u) + cap(b, v)
}

/// A snoot is two equal circles a tunnel apart: overlap (2/π)(acos x − x√(1 − x²)), x = tan θ·l/d,
/// times the cosine of the even front; what leaves it is the coaxial discs' configuration factor.
#[test]
fn snoots() {
    let (d, l) = (0.07f64, 0.2f64);
    let range = Range::new(&built("modifier: Snoot()"));
    let on_axis = range.intensity(0.0, 0.0);
    // the film at the tunnel's end is 0.2 m farther off than the mouth
    close(on_axis, HEAD_LM_S * (-0.5f64).exp2() / PI * (14.0f64 / 14.2).powi(2), 0.02);
    for x in [0.2, 0.404, 0.6, 0.805] {
        let theta = (x * d / l).atan();
        // from 14 m the mouth, thrown onto the film, is a little larger and shifts a little less
        let along = 14.0 * theta.cos();
        let open =
            lens(0.5 * d, 0.5 * d * (1.0 + l / along), l * theta.tan()) / (PI * 0.25 * d * d);
        // Lambertian film seen from P: I·cos²/d² of the film's own angle and distance
        let (across, behind) = (14.0 * theta.sin(), along + l);
        let to_film = across.hypot(behind);
        let expected = open
            * (behind / to_film)
            * (14.2 / to_film).powi(2)
            * (theta - across.atan2(behind)).cos();
        close(range.intensity(theta.to_degrees(), 20.0) / on_axis, expected, 0.02);
    }
    assert!(range.intensity((1.05 * d / l).atan().to_degrees(), 0.0) < 1e-3 * on_axis);
    // coaxial equal discs: F = (X − √(X² − 4))/2, X = 2 + (l/r)²
    let x = 2.0 + (l / (0.5 * d)).powi(2);
    let factor = 0.5 * (x - (x * x - 4.0).sqrt());
    let steps = 40;
    let most = (d / l).atan();
    let flux: f64 = (0..steps)
        .map(|k| most * (f64::from(k) + 0.5) / f64::from(steps))
        .map(|theta| range.intensity(theta.to_degrees(), 0.0) * theta.sin())
        .sum::<f64>()
        * most
        / f64::from(steps)
        * 2.0
        * PI;
    close(flux, HEAD_LM_S * (-0.5f64).exp2() * factor, 0.02);
}

/// A lens spot is even inside its iris and dark outside; shutters cut without brightening.
#[test]
fn lens_spots() {
    let range = Range::new(&built("modifier: LensSpot(focus: 14)"));
    let half = 13f64.to_radians();
    let sr = 2.0 * PI * (1.0 - half.cos());
    let expected = HEAD_LM_S * (-2.0f64).exp2() / sr;
    for theta in [0.0, 6.0, 12.7] {
        close(range.intensity(theta, 110.0), expected, 0.02);
    }
    assert!(range.intensity(13.3, 110.0) < 1e-3 * expected);
    let stage = built("modifier: LensSpot(focus: 14, shutters: (top: 0.25, right: 0.5))");
    let cut = Range::new(&stage);
    close(cut.intensity(5.0, 180.0), expected, 0.02);
    assert!(cut.intensity(5.0, 0.0) < 1e-3 * expected, "the right half is shut");
    // the upper blade stands at half the iris's radius
    let edge = (0.5 * half.tan()).atan().to_degrees();
    close(cut.intensity(0.95 * edge, 100.0), expected, 0.02);
    assert!(cut.intensity(1.08 * edge, 100.0) < 1e-3 * expected);
    close(
        emitted(&Emitter::of(light(&stage))),
        f64::from(Emitter::of(light(&stage)).flux()),
        0.005,
    );
}

/// All-round lights: a lantern is the same from everywhere, F/4π less what its head hides.
#[test]
fn lanterns_and_umbrellas_light_both_ways() {
    let range = Range::new(&built("modifier: Lantern(), fixture: false"));
    for (theta, azimuth) in [(0.0, 0.0), (60.0, 40.0), (120.0, 200.0), (179.0, 0.0)] {
        close(range.intensity(theta, azimuth), 0.5 * HEAD_LM_S / (4.0 * PI), 0.02);
    }
    let (sr, _) = cosine(110.0);
    let range = Range::new(&built("modifier: ShootThrough(), fixture: false"));
    let passed = HEAD_LM_S * (-0.5f64).exp2() / sr;
    close(range.intensity(0.0, 0.0), 0.55 * passed, 0.02);
    // its back film lies a quarter of the diameter nearer to there
    let nearer = (14.0 / (14.0 - 0.26f64)).powi(2);
    close(range.intensity(180.0, 0.0), 0.45 * passed * nearer, 0.02);
    let whole = Emitter::of(light(&built("modifier: ShootThrough()")));
    close(f64::from(whole.flux()), HEAD_LM_S * (-0.5f64).exp2(), 0.002);
    close(emitted(&whole), f64::from(whole.flux()), 0.005);
}

/// A scrim's cloth passes its share of what lands on it; by the frame the head shines on.
#[test]
fn scrims() {
    let fields = "modifier: Scrim(width: 1.2, height: 1.2, behind: 1)";
    let stage = built(fields);
    // flux on a square from a point with the dish's beam, by a plain sum
    let cd = HEAD_LM_S * (-0.5f64).exp2() / dish(55.0, 85.0);
    let k = 10f64.log2().log2() / (85.0f64 / 55.0).log2();
    let n = 400;
    let mut landed = 0.0;
    for i in 0..n {
        for j in 0..n {
            let at = |i: i32| 1.2 * ((f64::from(i) + 0.5) / f64::from(n) - 0.5);
            let r2 = at(i) * at(i) + at(j) * at(j);
            let cos = 1.0 / (1.0 + r2).sqrt();
            let beam = (-(cos.acos() / 27.5f64.to_radians()).powf(k)).exp2();
            landed += cd * beam * cos.powi(3) * (1.2 / f64::from(n)).powi(2);
        }
    }
    let range = Range::new(&stage);
    close(range.intensity(0.0, 0.0), 0.4 * landed / PI, 0.02);
    // 40° off, the line from the head, a metre behind, passes outside the frame
    let (sin, cos) = 40f64.to_radians().sin_cos();
    let (across, along) = (14.0 * sin, 14.0 * cos + 1.0);
    let from_head = across.atan2(along).to_degrees();
    let past = cd * (-(from_head / 27.5).powf(k)).exp2() * 196.0 / across.hypot(along).powi(2);
    let cloth = 0.4 * landed / PI * 40f64.to_radians().cos();
    close(range.intensity(40.0, 0.0), past + cloth, 0.03);
}

/// The user's reading comes out again at its distance, from the true size of the front.
#[test]
fn a_reading_reads_back() {
    for modifier in [
        "BareTube()",
        "Lantern()",
        "Dish()",
        "BeautyDish()",
        "Panel(width: 2, height: 2)",
        "SoftBox(recess: 0.1)",
        "Octagon(diameter: 1.9)",
        "Snoot()",
        "LensSpot(focus: 2)",
        "ShootThrough()",
        "Scrim()",
    ] {
        for distance in [1.2f64, 3.0] {
            let fields = format!(
                "modifier: {modifier}, fixture: false, head: (output: Reading(aperture: \"f/8\", distance: {distance}))"
            );
            let stage = built(&fields);
            let tracer = foreshadow::trace::Tracer::new(&stage, |_| true);
            let at = crate::planned::AT + glam::Vec3::Z * distance as f32;
            let got = tracer.meter(at, glam::Vec3::NEG_Z, foreshadow::trace::Receptor::Flat, 16, 1);
            // H = C·N²/S = 250·64/100
            let level = crate::set::y(got[0].direct);
            assert!(
                stops(level, 160.0).abs() < 0.02,
                "{modifier} at {distance} m reads {:+.3} stop",
                stops(level, 160.0)
            );
        }
    }
}

/// A guide number is an intensity toward the aim, C·GN²/S, for a bare tube as for a dish.
#[test]
fn guide_numbers_are_on_the_axis() {
    for modifier in ["BareTube()", "Dish()", "SoftBox()"] {
        let fields = format!("modifier: {modifier}, head: (output: GuideNumber(36))");
        let got = Range::new(&built(&fields)).intensity(0.0, 0.0);
        assert!(stops(got, 3240.0).abs() < 0.02, "{modifier}: {got}");
    }
}

/// Continuous lamps by lumens, candela and lux; two heads in one modifier are twice the light.
#[test]
fn lamps_and_several_heads() {
    let on_axis = |fields: &str| Range::new(&built(fields)).intensity(0.0, 0.0);
    let sr = dish(55.0, 85.0);
    close(on_axis("head: (output: Lumens(10000))"), 10_000.0 * (-0.5f64).exp2() / sr, 0.01);
    close(on_axis("head: (output: Candela(5000))"), 5000.0, 0.01);
    close(on_axis("head: (output: Lux(lux: 1000, distance: 2))"), 4000.0, 0.01);
    close(on_axis("head: (count: 2)"), 2.0 * HEAD_LM_S * (-0.5f64).exp2() / sr, 0.01);
    close(on_axis("head: (class: Studio600)"), 1.5 * HEAD_LM_S * (-0.5f64).exp2() / sr, 0.01);
    let lamp = &plan("head: (class: Lamp150)").lights[0];
    assert!(lamp.head.output.is_continuous());
}
