//! Surfaces against published values, closed forms and their own sampling.

use std::sync::Arc;

use foreshadow::optics::surface::{Coat, Scatter, Surface};
use foreshadow::optics::{fresnel, ggx};
use glam::{DVec3, Vec3};

fn direction(theta_deg: f64, phi_deg: f64) -> Vec3 {
    let (theta, phi) = (theta_deg.to_radians(), phi_deg.to_radians());
    Vec3::new(
        (theta.sin() * phi.cos()) as f32,
        (theta.sin() * phi.sin()) as f32,
        theta.cos() as f32,
    )
}

/// f at (θi, θo, φ) for α: with F = 1, and for a dielectric of index 1.45. Computed from Walter
/// et al. (2007) with separable Smith masking; Mitsuba 3.9.1 `roughconductor` and
/// `roughdielectric` give the same within 1e-6.
const GGX_VALUES: [(f32, f64, f64, f64, f32, f32); 28] = [
    (0.1, 0.0, 0.0, 0.0, 7.957747, 0.2684621),
    (0.1, 30.0, 30.0, 180.0, 10.59268, 0.3722611),
    (0.1, 30.0, 30.0, 150.0, 1.059254, 0.03699348),
    (0.1, 45.0, 60.0, 180.0, 3.087473, 0.171182),
    (0.1, 60.0, 60.0, 180.0, 31.36229, 2.532202),
    (0.1, 60.0, 70.0, 170.0, 1.786226, 0.1926699),
    (0.1, 10.0, 40.0, 90.0, 0.05770066, 0.001962299),
    (0.25, 0.0, 0.0, 0.0, 1.27324, 0.04295394),
    (0.25, 30.0, 30.0, 180.0, 1.680196, 0.05904751),
    (0.25, 30.0, 30.0, 150.0, 0.9532606, 0.03329175),
    (0.25, 45.0, 60.0, 180.0, 2.153235, 0.1193841),
    (0.25, 60.0, 60.0, 180.0, 4.665003, 0.3766539),
    (0.25, 60.0, 70.0, 170.0, 2.478302, 0.2673202),
    (0.25, 10.0, 40.0, 90.0, 0.1990821, 0.006770437),
    (0.5, 0.0, 0.0, 0.0, std::f32::consts::FRAC_1_PI, 0.01073848),
    (0.5, 30.0, 30.0, 180.0, 0.4075998, 0.01432437),
    (0.5, 30.0, 30.0, 150.0, 0.3590106, 0.01253812),
    (0.5, 45.0, 60.0, 180.0, 0.6625198, 0.03673278),
    (0.5, 60.0, 60.0, 180.0, 0.943883, 0.07620943),
    (0.5, 60.0, 70.0, 170.0, 0.9426479, 0.101678),
    (0.5, 10.0, 40.0, 90.0, 0.212465, 0.007225566),
    (1.0, 0.0, 0.0, 0.0, 0.07957747, 0.002684621),
    (1.0, 30.0, 30.0, 180.0, 0.09141449, 0.003212601),
    (1.0, 30.0, 30.0, 150.0, 0.09141449, 0.003192567),
    (1.0, 45.0, 60.0, 180.0, 0.1243077, 0.006892124),
    (1.0, 60.0, 60.0, 180.0, 0.1414711, 0.01142242),
    (1.0, 60.0, 70.0, 170.0, 0.1581247, 0.01705601),
    (1.0, 10.0, 40.0, 90.0, 0.09080924, 0.003088264),
];

#[test]
fn ggx_lobe_matches_published_values() {
    for (alpha, ti, to, phi, plain, dielectric) in GGX_VALUES {
        let (wi, wo) = (direction(ti, 0.0), direction(to, phi));
        let h = wi + wo;
        let f = ggx::reflection_over_fresnel(wo, wi, h, alpha * alpha);
        let with = f * fresnel::dielectric(wo.dot(h) / h.length(), 1.45);
        // The listing carries seven digits and f32 directions cost a few more at α = 0.1.
        assert!((f / plain - 1.0).abs() < 3e-5, "α {alpha} {ti}/{to}/{phi}: {f} {plain}");
        assert!((with / dielectric - 1.0).abs() < 3e-5, "α {alpha} {ti}/{to}/{phi}: {with}");
        // A black base under a coat leaves the lobe alone.
        let coat = Surface::coated("", Vec3::ZERO, 1.45, alpha);
        assert!((coat.eval(Vec3::ZERO, wo, wi).x / dielectric - 1.0).abs() < 3e-5);
    }
}

/// Directional albedo with F = 1, separable masking, by quadrature good to about 1e-4.
const ALBEDO: [(f64, [f64; 7]); 6] = [
    (0.01, [0.9760393, 0.9941149, 0.9991031, 0.99974, 0.9998567, 0.9998874, 0.9998767]),
    (0.1, [0.885982, 0.8727592, 0.9203097, 0.9691172, 0.9831374, 0.986743, 0.9883116]),
    (0.25, [0.8745827, 0.8542937, 0.8285138, 0.855098, 0.891165, 0.9073034, 0.9158082]),
    (0.5, [0.7922797, 0.7722762, 0.7255553, 0.6860077, 0.6787286, 0.6829835, 0.6878536]),
    (0.75, [0.6879986, 0.6645298, 0.6060331, 0.5374148, 0.4928003, 0.4739568, 0.4639186]),
    (1.0, [0.5844816, 0.5579138, 0.4909647, 0.4091368, 0.3506891, 0.3230028, 0.3068554]),
];
const COSINES: [f64; 7] = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0];

#[test]
fn ggx_directional_albedo_matches_published_values() {
    for (alpha, row) in ALBEDO {
        for (mu, expected) in COSINES.into_iter().zip(row) {
            let got = ggx::energy(mu, alpha, None, 96).reflected;
            assert!((got - expected).abs() < 2e-4, "α {alpha} μ {mu}: {got} {expected}");
        }
    }
    // α = 1 at normal incidence has a closed form.
    let closed = 1.0 - std::f64::consts::LN_2;
    assert!((ggx::energy(1.0, 1.0, None, 96).reflected - closed).abs() < 1e-4);
}

#[test]
fn the_coat_table_is_converged() {
    for alpha in [0.02, 0.1, 0.3, 0.6, 1.0] {
        let table = ggx::energy_table(alpha, 1.45, 20).map(|e| e.reflected);
        for k in [0, 1, 3, 10, 31, 63] {
            let mu = (k as f64 / 63.0).max(1e-6);
            let fine = ggx::energy(mu, alpha, Some(1.45), 400).reflected;
            assert!((table[k] - fine).abs() < 3e-4, "α {alpha} μ {mu}: {} {fine}", table[k]);
        }
    }
}

/// Index, F at 0, 30, 45, 60, 70, 80, 85°, Brewster's angle in degrees, hemispherical means
/// outside and inside. From the Fresnel equations, by an independent quadrature.
const FRESNEL: [(f64, [f32; 7], f64, f64, f64); 7] = [
    (
        1.33,
        [0.02005931, 0.02111246, 0.02752138, 0.0591256, 0.1326566, 0.3469161, 0.5827282],
        53.06124,
        0.06593085,
        0.4719491,
    ),
    (
        1.4,
        [0.02777778, 0.02905063, 0.03657852, 0.0719767, 0.1502651, 0.3671735, 0.5983219],
        54.46232,
        0.07681155,
        0.5289855,
    ),
    (
        1.44,
        [0.03251814, 0.03390008, 0.04195932, 0.07901387, 0.1591109, 0.3763591, 0.6049953],
        55.22217,
        0.08286825,
        0.5577104,
    ),
    (
        1.45,
        [0.03373594, 0.03514323, 0.04332347, 0.08074033, 0.161204, 0.3784365, 0.6064636],
        55.40771,
        0.08436696,
        0.5645027,
    ),
    (
        1.5,
        [0.04, 0.04152263, 0.05023991, 0.08918671, 0.1710425, 0.3877044, 0.6127996],
        56.30993,
        0.09177796,
        0.5963458,
    ),
    (
        1.55,
        [0.04652057, 0.04813992, 0.05728764, 0.09734374, 0.1799627, 0.3953923, 0.617735],
        57.17146,
        0.09906583,
        0.6250014,
    ),
    (
        2.42,
        [0.1723949, 0.173883, 0.1815211, 0.2115976, 0.2708586, 0.4333276, 0.6216216],
        67.54845,
        0.2125408,
        0.8655387,
    ),
];

#[test]
fn fresnel_matches_published_values() {
    for (ior, row, brewster_deg, external, internal) in FRESNEL {
        for (deg, expected) in [0.0, 30.0, 45.0, 60.0, 70.0, 80.0, 85.0f32].into_iter().zip(row) {
            let got = fresnel::dielectric(deg.to_radians().cos(), ior as f32);
            assert!((got / expected - 1.0).abs() < 2e-5, "n {ior} {deg}°: {got} {expected}");
        }
        assert!((fresnel::normal_incidence(ior) - f64::from(row[0])).abs() < 1e-7);
        assert!((fresnel::brewster_rad(ior).to_degrees() - brewster_deg).abs() < 1e-5);
        let brewster = fresnel::brewster_rad(ior);
        let p_gone = fresnel::dielectric_f64(brewster.cos(), ior);
        // At Brewster's angle only s is left: ½((n² − 1)/(n² + 1))².
        let s_only = 0.5 * ((ior * ior - 1.0) / (ior * ior + 1.0)).powi(2);
        assert!((p_gone - s_only).abs() < 1e-12);
        assert!((fresnel::hemispherical_external(ior) - external).abs() < 1e-6);
        assert!((fresnel::hemispherical_internal(ior) - internal).abs() < 1e-6);
    }
    // Past the critical angle (41.81° inside glass of 1.5) all is reflected.
    assert_eq!(fresnel::dielectric(42f32.to_radians().cos(), 1.0 / 1.5), 1.0);
    assert!(fresnel::dielectric(41f32.to_radians().cos(), 1.0 / 1.5) < 1.0);
}

/// (index, base, diffuse part that comes out), Saunderson (1942) with Fresnel's coefficients.
const SAUNDERSON: [(f64, f64, f64); 8] = [
    (1.4, 0.1, 0.04591221),
    (1.4, 0.3, 0.1550575),
    (1.4, 0.6, 0.3822118),
    (1.4, 0.9, 0.7469782),
    (1.5, 0.1, 0.03898566),
    (1.5, 0.3, 0.1339457),
    (1.5, 0.6, 0.3425213),
    (1.5, 0.9, 0.7121841),
];

#[test]
fn a_smooth_coat_obeys_saunderson() {
    for (ior, base, expected) in SAUNDERSON {
        let external = fresnel::hemispherical_external(ior);
        let internal = fresnel::hemispherical_internal(ior);
        let formula = fresnel::saunderson_diffuse(base, external, internal);
        assert!((formula - expected).abs() < 2e-7, "n {ior} ρ {base}: {formula}");

        // The coat in the smooth limit, averaged over a hemisphere of light.
        let coat = Coat::new(ior as f32, 0.01);
        let n = 2000;
        let total: f64 = (0..n)
            .map(|k| (k as f64 + 0.5) / n as f64)
            .map(|mu| 2.0 * mu * f64::from(coat.albedo(Vec3::splat(base as f32), mu as f32).x))
            .sum::<f64>()
            / n as f64;
        // The table's 64 straight pieces under-resolve the last degrees to grazing.
        assert!((total - (external + expected)).abs() < 1.5e-3, "n {ior} ρ {base}: {total}");

        let look = Vec3::splat(expected as f32);
        assert!((coat.base_for(look).x - base as f32).abs() < 3e-3, "n {ior} ρ {base}");
    }
}

fn zoo() -> Vec<Surface> {
    let skin = Vec3::new(0.55, 0.35, 0.25);
    vec![
        Surface::diffuse("matt", skin),
        Surface::coated("skin", skin, 1.4, 0.35),
        Surface::coated("satin", skin, 1.5, 0.12),
        Surface::coated("rough", skin, 1.5, 0.9),
        Surface::velvet("velvet", Vec3::splat(0.02), 0.8),
        Surface::velvet("red velvet", Vec3::new(0.2, 0.01, 0.01), 0.5),
    ]
}

#[test]
fn scattering_is_reciprocal_and_never_negative() {
    for surface in zoo() {
        for (ti, to, phi) in [(0.0, 70.0, 0.0), (30.0, 50.0, 90.0), (85.0, 60.0, 175.0)] {
            let (a, b) = (direction(ti, 0.0), direction(to, phi));
            let f = surface.eval(surface.reflectance, a, b);
            let g = surface.eval(surface.reflectance, b, a);
            assert!(f.min_element() >= 0.0);
            assert!((f - g).abs().max_element() <= 2e-6 * f.max_element(), "{}", surface.name);
        }
        let (up, down) = (direction(20.0, 0.0), direction(120.0, 0.0));
        assert_eq!(surface.eval(surface.reflectance, up, down), Vec3::ZERO);
        assert_eq!(surface.pdf(surface.reflectance, up, down), 0.0);
        assert!(surface.sample(surface.reflectance, down, Vec3::splat(0.5)).is_none());
    }
}

/// Midpoint rule over the hemisphere in (θ, φ), fine enough for the narrowest lobe used.
fn over_hemisphere<const N: usize>(f: impl Fn(Vec3) -> [f64; N]) -> [f64; N] {
    let (rows, columns) = (700, 700);
    let mut sum = [0.0; N];
    for r in 0..rows {
        let theta = std::f64::consts::FRAC_PI_2 * (r as f64 + 0.5) / rows as f64;
        let (sin_theta, cos_theta) = theta.sin_cos();
        for c in 0..columns {
            let (sin_phi, cos_phi) =
                (std::f64::consts::TAU * (c as f64 + 0.5) / columns as f64).sin_cos();
            let w = DVec3::new(sin_theta * cos_phi, sin_theta * sin_phi, cos_theta).as_vec3();
            for (total, value) in sum.iter_mut().zip(f(w)) {
                *total += value * sin_theta;
            }
        }
    }
    let cell = std::f64::consts::FRAC_PI_2 / rows as f64 * std::f64::consts::TAU / columns as f64;
    sum.map(|total| total * cell)
}

const DRAWS: usize = 400_000;

/// Evenly spread triples: the additive recurrence on the powers of the root of x⁴ = x + 1.
fn triples() -> impl Iterator<Item = Vec3> {
    const ROOT: f64 = 1.220_744_084_605_76;
    (1..=DRAWS).map(|i| {
        let at = |power: i32| (i as f64 * ROOT.powi(-power)).fract();
        DVec3::new(at(1), at(2), at(3)).as_vec3().min(Vec3::splat(1.0 - 6e-8))
    })
}

#[test]
fn densities_integrate_to_one_and_albedos_agree_with_quadrature() {
    for surface in zoo() {
        for theta_deg in [0.0, 40.0, 75.0] {
            let wo = direction(theta_deg, 0.0);
            let rho = surface.reflectance;
            let [density, reflected] = over_hemisphere(|wi| {
                [f64::from(surface.pdf(rho, wo, wi)), f64::from(surface.eval(rho, wo, wi).y * wi.z)]
            });
            let below = triples().filter(|&u| surface.sample(rho, wo, u).is_none()).count();
            let below = below as f64 / DRAWS as f64;
            let name = &surface.name;
            assert!(
                (density + below - 1.0).abs() < 3e-3,
                "{name} {theta_deg}°: density {density}, below the surface {below}"
            );
            let albedo = f64::from(surface.albedo(rho, wo.z).y);
            assert!(
                (reflected - albedo).abs() < 1e-3,
                "{name} {theta_deg}°: {reflected} against {albedo}"
            );
        }
    }
}

#[test]
fn samples_follow_their_density() {
    // Bins of equal solid angle, 6 in cosθ by 12 in φ.
    const ROWS: usize = 6;
    const COLUMNS: usize = 12;
    let bin = |w: Vec3| {
        let row = ((w.z * ROWS as f32) as usize).min(ROWS - 1);
        let turn = w.y.atan2(w.x) / std::f32::consts::TAU + 0.5;
        row * COLUMNS + ((turn * COLUMNS as f32) as usize).min(COLUMNS - 1)
    };
    for surface in zoo() {
        let wo = direction(50.0, 20.0);
        let rho = surface.reflectance;
        let expected = over_hemisphere(|wi| {
            let mut bins = [0.0; ROWS * COLUMNS];
            bins[bin(wi)] = f64::from(surface.pdf(rho, wo, wi));
            bins
        });
        let mut drawn = [0.0; ROWS * COLUMNS];
        for wi in triples().filter_map(|u| surface.sample(rho, wo, u)) {
            drawn[bin(wi)] += 1.0 / DRAWS as f64;
        }
        for (k, (drawn, expected)) in drawn.into_iter().zip(expected).enumerate() {
            assert!(
                (drawn - expected).abs() < 5e-4 + 0.01 * expected,
                "{} bin {k}: {drawn} drawn, {expected} expected",
                surface.name
            );
        }
    }
}

#[test]
fn sampling_estimates_the_albedo() {
    for surface in zoo() {
        let (wo, rho) = (direction(65.0, 0.0), surface.reflectance);
        let mut sum = 0.0;
        for wi in triples().filter_map(|u| surface.sample(rho, wo, u)) {
            let pdf = surface.pdf(rho, wo, wi);
            assert!(pdf > 0.0, "{}", surface.name);
            sum += f64::from(surface.eval(rho, wo, wi).y * wi.z / pdf);
        }
        let mean = sum / DRAWS as f64;
        let albedo = f64::from(surface.albedo(rho, wo.z).y);
        assert!((mean / albedo - 1.0).abs() < 0.01, "{}: {mean} {albedo}", surface.name);
    }
}

#[test]
fn a_white_furnace_returns_what_arrives_and_never_more() {
    for pile in [0.1, 0.5, 1.0] {
        for k in 1..=20 {
            let mu = k as f32 / 20.0;
            let white = Surface::velvet("", Vec3::ONE, pile).albedo(Vec3::ONE, mu);
            assert!((white.x - 1.0).abs() < 1e-6);
        }
    }
    for (ior, alpha) in [(1.4, 0.05), (1.4, 0.35), (1.5, 0.1), (1.5, 1.0), (1.8, 0.5)] {
        let coat = Coat::new(ior, alpha);
        for k in 0..=20 {
            let mu = k as f32 / 20.0;
            let white = coat.albedo(Vec3::ONE, mu).x;
            assert!((white - 1.0).abs() < 2e-6, "n {ior} α {alpha} μ {mu}: {white}");
            assert!(coat.albedo(Vec3::splat(0.8), mu).x < 1.0);
        }
    }
    // And by integrating the BRDF itself rather than trusting the closed sum.
    for surface in [
        Surface::coated("", Vec3::ONE, 1.5, 0.2),
        Surface::coated("", Vec3::ONE, 1.4, 0.6),
        Surface::velvet("", Vec3::ONE, 1.0),
    ] {
        for theta_deg in [10.0, 60.0, 80.0] {
            let wo = direction(theta_deg, 0.0);
            let [sum] = over_hemisphere(|wi| [f64::from(surface.eval(Vec3::ONE, wo, wi).x * wi.z)]);
            assert!((sum - 1.0).abs() < 1.5e-3, "{theta_deg}°: {sum}");
        }
    }
}

/// α, index, base, [θi, θo, φ], f. Mitsuba 3.9.1 `roughplastic`, GGX, `nonlinear` on.
const ROUGHPLASTIC: [(f32, f32, f32, [f64; 3], f32); 35] = [
    (0.1, 1.5, 0.5, [0.0, 0.0, 0.0], 0.4082619),
    (0.1, 1.5, 0.5, [30.0, 30.0, 180.0], 0.5292718),
    (0.1, 1.5, 0.5, [30.0, 50.0, 90.0], 0.08846106),
    (0.1, 1.5, 0.5, [60.0, 60.0, 180.0], 2.877378),
    (0.1, 1.5, 0.5, [75.0, 70.0, 160.0], 0.0877988),
    (0.1, 1.5, 0.5, [20.0, 80.0, 40.0], 0.06498864),
    (0.1, 1.5, 0.5, [10.0, 0.0, 0.0], 0.1952321),
    (0.3, 1.4, 0.35, [0.0, 0.0, 0.0], 0.08502995),
    (0.3, 1.4, 0.35, [30.0, 30.0, 180.0], 0.09324383),
    (0.3, 1.4, 0.35, [30.0, 50.0, 90.0], 0.06099808),
    (0.3, 1.4, 0.35, [60.0, 60.0, 180.0], 0.2775955),
    (0.3, 1.4, 0.35, [75.0, 70.0, 160.0], 0.1364108),
    (0.3, 1.4, 0.35, [20.0, 80.0, 40.0], 0.05024596),
    (0.3, 1.4, 0.35, [10.0, 0.0, 0.0], 0.08192842),
    (0.5, 1.45, 0.8, [0.0, 0.0, 0.0], 0.1485554),
    (0.5, 1.45, 0.8, [30.0, 30.0, 180.0], 0.1476136),
    (0.5, 1.45, 0.8, [30.0, 50.0, 90.0], 0.1324823),
    (0.5, 1.45, 0.8, [60.0, 60.0, 180.0], 0.1859623),
    (0.5, 1.45, 0.8, [75.0, 70.0, 160.0], 0.1828583),
    (0.5, 1.45, 0.8, [20.0, 80.0, 40.0], 0.1028923),
    (0.5, 1.45, 0.8, [10.0, 0.0, 0.0], 0.1480649),
    (0.3, 1.4, 0.8, [0.0, 0.0, 0.0], 0.1931147),
    (0.3, 1.4, 0.8, [30.0, 30.0, 180.0], 0.1995958),
    (0.3, 1.4, 0.8, [30.0, 50.0, 90.0], 0.1643474),
    (0.3, 1.4, 0.8, [60.0, 60.0, 180.0], 0.3714535),
    (0.3, 1.4, 0.8, [75.0, 70.0, 160.0], 0.2161009),
    (0.3, 1.4, 0.8, [20.0, 80.0, 40.0], 0.1357744),
    (0.3, 1.4, 0.8, [10.0, 0.0, 0.0], 0.1899504),
    (0.05, 1.38, 0.3, [0.0, 0.0, 0.0], 0.867355),
    (0.05, 1.38, 0.3, [30.0, 30.0, 180.0], 1.188702),
    (0.05, 1.38, 0.3, [30.0, 50.0, 90.0], 0.05502228),
    (0.05, 1.38, 0.3, [60.0, 60.0, 180.0], 8.72436),
    (0.05, 1.38, 0.3, [75.0, 70.0, 160.0], 0.04511697),
    (0.05, 1.38, 0.3, [20.0, 80.0, 40.0], 0.0383346),
    (0.05, 1.38, 0.3, [10.0, 0.0, 0.0], 0.1066128),
];

#[test]
fn a_single_scatter_coat_agrees_with_roughplastic() {
    for (alpha, ior, base, [ti, to, phi], expected) in ROUGHPLASTIC {
        let mut surface = Surface::coated("", Vec3::splat(base), ior, alpha);
        surface.scatter = Scatter::Coated(Arc::new(Coat::single_scatter(ior, alpha)));
        let f = surface.eval(surface.reflectance, direction(to, phi), direction(ti, 0.0)).x;
        let error = f / expected - 1.0;
        assert!(error.abs() < 1e-3, "α {alpha} n {ior} ρ {base} {ti}/{to}/{phi}: {error:+.5}");
    }
}

#[test]
fn what_single_scattering_loses_is_as_documented() {
    let lossy = Coat::single_scatter(1.4, 0.3).albedo(Vec3::ONE, 1.0).x;
    assert!((lossy - 0.722).abs() < 0.001, "{lossy}");
}
