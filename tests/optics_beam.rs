//! Beams against closed forms and published angles.

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::sync::Arc;

use foreshadow::optics::beam::{Beam, BeamSampler, Gate, Table};
use glam::Vec3;

/// n, beam and field in degrees, flux for each candela, fractions inside beam and field. cosⁿ in
/// closed form: θ = acos(p^(1/n)), flux 2π/(n + 1), fraction 1 − p^((n + 1)/n).
const COS_N: [(f64, f64, f64, f64, f64, f64); 7] = [
    (1.0, 120.0, 168.5217, PI, 0.75, 0.99),
    (2.0, 90.0, 143.1301, 2.094395, 0.6464466, 0.9683772),
    (4.0, 65.5302, 111.5643, 1.256637, 0.5795518, 0.9437659),
    (10.0, 42.1747, 74.8163, 0.5711987, 0.5334835, 0.9205672),
    (20.0, 29.99535, 53.93827, 0.2991993, 0.5170318, 0.9108749),
    (50.0, 19.03669, 34.51057, 0.1231997, 0.5068836, 0.9045007),
    (100.0, 13.47654, 24.4967, 0.06220976, 0.5034538, 0.9022763),
];

#[test]
fn cosine_beams_match_closed_forms() {
    for (exponent, beam_deg, field_deg, flux, in_beam, in_field) in COS_N {
        let beam = Beam::Cosine { exponent };
        let at = |full_deg: f64| beam.relative_intensity((0.5 * full_deg).to_radians().cos());
        assert!((at(beam_deg) - 0.5).abs() < 1e-5, "n {exponent}");
        assert!((at(field_deg) - 0.1).abs() < 1e-5, "n {exponent}");
        let total = beam.solid_angle();
        assert!((total / flux - 1.0).abs() < 1e-6, "n {exponent}: {total} {flux}");
        let share =
            |full_deg: f64| beam.solid_angle_within(0.0, (0.5 * full_deg).to_radians()) / total;
        assert!((share(beam_deg) - in_beam).abs() < 2e-6, "n {exponent}");
        assert!((share(field_deg) - in_field).abs() < 2e-6, "n {exponent}");
    }
}

#[test]
fn lumens_of_the_synthetic_luminaires() {
    // 1000 cd on the axis; exact fluxes 1000·2π/(n + 1).
    for (exponent, lumens) in [(1.0, 3141.593), (4.0, 1256.637), (20.0, 299.1993), (0.0, 6283.185)]
    {
        let got = 1000.0 * Beam::Cosine { exponent }.solid_angle();
        assert!((got / lumens - 1.0).abs() < 1e-6, "n {exponent}: {got} {lumens}");
    }
    // Zonal constants 2π(cos a − cos b), here with an even source.
    let even = Beam::Cosine { exponent: 0.0 };
    let zone = |a: f64, b: f64| even.solid_angle_within(a.to_radians(), b.to_radians());
    assert!((zone(0.0, 5.0) - 0.02390942).abs() < 1e-8);
    assert!((zone(5.0, 10.0) - 0.07154629).abs() < 1e-8);
}

const DISHES: [(f64, f64); 5] =
    [(55.0, 85.0), (110.0, 150.0), (20.0, 60.0), (8.0, 12.0), (5.0, 90.0)];

#[test]
fn dishes_hold_half_and_a_tenth_at_their_angles() {
    for (beam_deg, field_deg) in DISHES {
        let dish = Beam::Dish {
            beam_rad: f64::to_radians(beam_deg),
            field_rad: f64::to_radians(field_deg),
        };
        let at = |full_deg: f64| dish.relative_intensity((0.5 * full_deg).to_radians().cos());
        assert!((at(beam_deg) - 0.5).abs() < 1e-12);
        assert!((at(field_deg) - 0.1).abs() < 1e-12);
        assert!((at(0.0) - 1.0).abs() < 1e-12);
    }
}

fn all() -> Vec<Beam> {
    let mut beams: Vec<Beam> =
        [0.0, 1.0, 4.0, 100.0, 5000.0].map(|exponent| Beam::Cosine { exponent }).to_vec();
    beams.extend(DISHES.map(|(beam, field)| Beam::Dish {
        beam_rad: f64::to_radians(beam),
        field_rad: f64::to_radians(field),
    }));
    beams
}

#[test]
fn single_precision_follows_double() {
    for beam in all() {
        for k in 0..=200 {
            let cos = 1.0 - k as f32 / 190.0;
            let (single, double) =
                (beam.relative_intensity_f32(cos), beam.relative_intensity(f64::from(cos)));
            // A high power magnifies the rounding of its base.
            assert!((f64::from(single) - double).abs() < 1e-5, "{beam:?} {cos}: {single} {double}");
        }
    }
}

#[test]
fn sampler_density_integrates_to_one_and_covers_the_light() {
    for beam in all() {
        let sampler = BeamSampler::new(beam.clone());
        let n = 400_000;
        let mut sum = 0.0;
        for k in 0..n {
            let theta = FRAC_PI_2 * (k as f64 + 0.5) / n as f64;
            let pdf = f64::from(sampler.pdf(theta.cos() as f32));
            sum += pdf * theta.sin() * FRAC_PI_2 / n as f64 * TAU;
            assert!(pdf > 0.0, "{beam:?} at {theta}");
        }
        assert!((sum - 1.0).abs() < 2e-3, "{beam:?}: {sum}");
        assert_eq!(sampler.pdf(-0.1), 0.0);
    }
}

#[test]
fn sampler_draws_what_its_density_says() {
    for beam in all() {
        let sampler = BeamSampler::new(beam.clone());
        let total = beam.solid_angle();
        let n = 100_000;
        let (mut flux, mut worst, mut past_beam) = (0.0, 0.0f64, 0.0);
        // Half of the light's flux lies inside this angle.
        let (mut low, mut high) = (0.0, FRAC_PI_2);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if beam.solid_angle_within(0.0, middle) < 0.5 * total {
                low = middle;
            } else {
                high = middle;
            }
        }
        let half_cos = low.cos();
        for k in 0..n {
            let (cos, pdf) = sampler.sample((k as f32 + 0.5) / n as f32);
            assert!((0.0..=1.0).contains(&cos) && pdf > 0.0);
            let weight = f64::from(beam.relative_intensity_f32(cos) / pdf);
            flux += weight / n as f64;
            worst = worst.max(weight / total);
            past_beam += f64::from(u8::from(f64::from(cos) < half_cos)) / n as f64;
        }
        assert!((flux / total - 1.0).abs() < 2e-3, "{beam:?}: {flux} {total}");
        assert!((past_beam - 0.5).abs() < 5e-3, "{beam:?}: {past_beam} past the half-flux angle");
        // No draw weighs much more than the mean: the table follows the beam.
        assert!(worst < 1.6, "{beam:?}: {worst}");
    }
    assert!(
        (BeamSampler::new(Beam::Cosine { exponent: 0.0 }).pdf(0.5) as f64 - 0.5 / PI).abs() < 1e-6
    );
}

/// A table of cosⁿ is the beam itself; its draws carry its flux.
#[test]
fn tables_follow_what_they_hold() {
    for (n, flux) in [(1, PI), (4, TAU / 5.0), (20, TAU / 21.0)] {
        let table = Table::new(721, 1, |theta, _| theta.cos().powi(n));
        let beam = Beam::Table(Arc::new(table));
        assert!((beam.solid_angle() / flux - 1.0).abs() < 1e-4, "{n}");
        let full = beam.full_angle_rad(0.5, 0.3).unwrap().to_degrees();
        assert!((full - COS_N.iter().find(|row| row.0 == f64::from(n)).unwrap().1).abs() < 0.05);
        let sampler = BeamSampler::new(beam.clone());
        let count = 50_000;
        let carried: f64 = (0..count)
            .map(|k| {
                let (cos, pdf) = sampler.sample((k as f32 + 0.5) / count as f32);
                f64::from(beam.relative_intensity_f32(cos) / pdf) / f64::from(count)
            })
            .sum();
        assert!((carried / flux - 1.0).abs() < 2e-3, "{n}: {carried}");
    }
    // brighter to the right: linear in the cosine of the azimuth
    let table = Table::new(91, 72, |theta, phi| theta.cos() * (1.0 + 0.5 * phi.cos()));
    for (azimuth, level) in [(0.0f32, 1.5), (90.0, 1.0), (180.0, 0.5), (45.0, 1.353_55)] {
        let (sin, cos) = azimuth.to_radians().sin_cos();
        let toward = Vec3::new(0.6 * cos, 0.6 * sin, 0.8);
        assert!((table.toward(toward) - 0.8 * level).abs() < 2e-3, "{azimuth}");
    }
    assert!((table.solid_angle() / PI - 1.0).abs() < 1e-4, "the mean round the axis is a cosine");
}

/// A gate's cone is 2π(1 − cos a); one blade to the middle takes half; a square within it is the
/// solid angle 4·asin(s²/(1 + s²)) of a square pyramid.
#[test]
fn gates_have_their_solid_angles() {
    let iris = 13f64.to_radians().tan();
    let open = Gate { iris, across: [-iris, iris], upward: [-iris, iris], focus_m: 3.0 };
    let whole = TAU * (1.0 - 13f64.to_radians().cos());
    assert!((open.solid_angle() / whole - 1.0).abs() < 1e-6);
    let half = Gate { across: [-iris, 0.0], ..open };
    assert!((half.solid_angle() / whole - 0.5).abs() < 1e-6);
    let s = 0.6 * iris;
    let square = Gate { across: [-s, s], upward: [-s, s], ..open };
    let pyramid = 4.0 * (s * s / (1.0 + s * s)).asin();
    assert!((square.solid_angle() / pyramid - 1.0).abs() < 1e-4, "{}", square.solid_angle());
    let beam = Beam::Gate(open);
    assert!((beam.full_angle_rad(0.5, 0.0).unwrap().to_degrees() - 26.0).abs() < 0.01);
}
