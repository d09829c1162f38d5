//! Colour and lens arithmetic against published values.

use foreshadow::optics::{color, lens};
use glam::{DVec3, Vec3};

/// Kelvin, x and y by Planck's law (CIE 1931 2°, c2 = 0.014388 m·K), x and y by the cubic of Kang et al.
/// (2002), linear sRGB of Planck's at Y = 1. As colour-science 0.4.7 gives them.
const BLACK_BODY: [[f64; 8]; 17] = [
    [2000.0, 0.526681, 0.4132965, 0.5269026, 0.4132649, 2.520021, 0.6471171, 0.02048768],
    [2700.0, 0.4598626, 0.4105998, 0.459314, 0.4106602, 1.934899, 0.8037464, 0.1918491],
    [2856.0, 0.4475386, 0.4074293, 0.4470707, 0.4075088, 1.844935, 0.8262894, 0.2334422],
    [3000.0, 0.4369345, 0.4040751, 0.4365789, 0.4041745, 1.770742, 0.8444381, 0.2721245],
    [3200.0, 0.4233629, 0.398953, 0.4231818, 0.3990777, 1.679611, 0.866101, 0.3258705],
    [3400.0, 0.4110371, 0.3935055, 0.4110116, 0.3936424, 1.600118, 0.8843465, 0.379202],
    [4000.0, 0.3804424, 0.3767486, 0.3805283, 0.3767335, 1.413831, 0.9241467, 0.5334674],
    [4500.0, 0.3607901, 0.3635463, 0.3607102, 0.3634939, 1.300762, 0.9457136, 0.6527617],
    [5000.0, 0.3451034, 0.3516099, 0.3449917, 0.3515867, 1.213358, 0.9606257, 0.7624016],
    [5500.0, 0.3324364, 0.3410369, 0.3323363, 0.3410395, 1.14429, 0.9710688, 0.8623226],
    [5600.0, 0.3301998, 0.3390811, 0.330105, 0.3390879, 1.132217, 0.9727542, 0.8811745],
    [6000.0, 0.322085, 0.3317551, 0.3220161, 0.331776, 1.088693, 0.9784435, 0.9529715],
    [6500.0, 0.3135275, 0.3236299, 0.3134941, 0.3236625, 1.043229, 0.9836734, 1.035033],
    [7500.0, 0.3003359, 0.3102678, 0.3003607, 0.3103085, 0.9739062, 0.9899992, 1.176487],
    [10000.0, 0.2806345, 0.2882889, 0.280698, 0.2883056, 0.8718044, 0.9946802, 1.430747],
    [15000.0, 0.2637066, 0.26728, 0.2637004, 0.2672474, 0.7851494, 0.9926764, 1.705742],
    [25000.0, 0.2525209, 0.2522209, 0.252473, 0.2522548, 0.7282097, 0.9872363, 1.92728],
];

#[test]
fn colour_temperature_follows_the_cubic_and_stays_near_planck() {
    for [kelvin, planck_x, planck_y, x, y, r, g, b] in BLACK_BODY {
        let got = color::planckian(kelvin);
        assert!((got.x - x).abs() < 1e-6 && (got.y - y).abs() < 1e-6, "{kelvin} K: {got:?}");
        let off = (got.x - planck_x).abs().max((got.y - planck_y).abs());
        assert!(off < if kelvin >= 3200.0 { 2e-4 } else { 6e-4 }, "{kelvin} K: {off}");
        let rgb = color::planckian_rgb(kelvin);
        assert!((color::luminance(rgb) - 1.0).abs() < 2e-4);
        let off = (rgb.as_dvec3() - DVec3::new(r, g, b)).abs().max_element();
        assert!(off < 7e-3, "{kelvin} K: {rgb} is {off} away");
    }
}

#[test]
fn a_light_at_the_white_balance_is_exactly_neutral() {
    for [kelvin, ..] in BLACK_BODY {
        assert_eq!(color::light_gain(kelvin, kelvin), Vec3::ONE);
        // And nearly so just beside it: no jump.
        let beside = color::light_gain(kelvin, kelvin * 1.0001);
        assert!((beside - Vec3::ONE).abs().max_element() < 1e-3, "{kelvin}: {beside}");
    }
    let warm = color::light_gain(3200.0, 5600.0);
    assert!(warm.x > 1.3 && warm.z < 0.5, "{warm}");
    let cool = color::light_gain(5600.0, 3200.0);
    assert!(cool.x < 0.8 && cool.z > 1.5, "{cool}");
    for gain in [warm, cool, color::light_gain(1700.0, 9000.0)] {
        assert!((color::luminance(gain) - 1.0).abs() < 1e-6 && gain.min_element() >= 0.0);
    }
}

#[test]
fn bradford_adapts_illuminant_a_to_d65() {
    // Rows of the matrix from A (0.44758, 0.40745) to D65, as colour-science 0.4.7 gives it.
    let expected = [
        [0.844669, -0.1179501, 0.3950134],
        [-0.1366497, 1.104127, 0.1292354],
        [0.07989369, -0.1349779, 3.193588],
    ];
    let a = color::Chromaticity { x: 0.44758, y: 0.40745 };
    let got = color::adaptation(a, color::D65).transpose().to_cols_array_2d();
    for (got, expected) in got.iter().flatten().zip(expected.iter().flatten()) {
        assert!((got - expected).abs() < 1e-5, "{got} {expected}");
    }
}

/// Linear, encoded, 8-bit code (IEC 61966-2-1).
const SRGB: [(f32, f32, u8); 15] = [
    (0.0, 0.0, 0),
    (0.001, 0.01292, 3),
    (0.0031308, 0.04044994, 10),
    (0.01, 0.09985282, 25),
    (0.05, 0.2478005, 63),
    (0.09, 0.33183, 85),
    (0.1, 0.3491902, 89),
    (0.1264, 0.3906361, 100),
    (0.18, 0.4613561, 118),
    (0.214, 0.4999555, 127),
    (0.25, 0.5370987, 137),
    (0.5, 0.735357, 188),
    (0.72, 0.865042, 221),
    (0.9, 0.9546872, 243),
    (1.0, 1.0, 255),
];
/// 8-bit code, linear.
const SRGB_CODES: [(u8, f32); 16] = [
    (1, 0.000303527),
    (10, 0.00303527),
    (46, 0.02732089),
    (64, 0.05126946),
    (100, 0.1274377),
    (117, 0.1778884),
    (118, 0.1811642),
    (119, 0.184475),
    (127, 0.2122308),
    (128, 0.2158605),
    (186, 0.4910208),
    (188, 0.5028865),
    (200, 0.5775804),
    (235, 0.8307699),
    (242, 0.8879231),
    (255, 1.0),
];

#[test]
fn srgb_encodes_and_decodes() {
    for (linear, encoded, code) in SRGB {
        let got = color::srgb_encode(linear);
        assert!((got - encoded).abs() < 2e-6, "{linear}: {got} {encoded}");
        assert_eq!((got * 255.0).round() as u8, code);
        assert!((color::srgb_decode(encoded) - linear).abs() < 2e-6);
    }
    for (code, linear) in SRGB_CODES {
        assert!((color::srgb_decode(f32::from(code) / 255.0) / linear - 1.0).abs() < 3e-6);
        let hex = format!("#{code:02x}{code:02X}{code:02x}");
        assert!((color::parse_hex(&hex).unwrap() / linear - 1.0).abs().max_element() < 3e-6);
    }
    assert_eq!(color::parse_hex("#ff0000"), Some(Vec3::X));
    assert_eq!(color::parse_hex("#0000ff"), Some(Vec3::Z));
    for bad in
        ["", "#", "red", "#fff", "ff0000", "#ff00zz", "#ff00000", "#+f0000", " #ff0000", "#ééé"]
    {
        assert_eq!(color::parse_hex(bad), None, "{bad}");
    }
}

/// Kelvin in, kelvin out, shift in mired; filters by their makers' shifts.
const MIRED: [(f64, f64, f64); 22] = [
    (3200.0, 5500.0, -130.6818),
    (5500.0, 3200.0, 130.6818),
    (3200.0, 5600.0, -133.9286),
    (5600.0, 3200.0, 133.9286),
    (6500.0, 5500.0, 27.97203),
    (5600.0, 4300.0, 53.98671),
    (5600.0, 2962.336, 159.0),
    (3200.0, 2120.891, 159.0),
    (5600.0, 3477.397, 109.0),
    (3200.0, 2372.479, 109.0),
    (5600.0, 4122.497, 64.0),
    (3200.0, 2656.042, 64.0),
    (5600.0, 4888.268, 26.0),
    (3200.0, 2954.21, 26.0),
    (5600.0, 24054.98, -137.0),
    (3200.0, 5698.006, -137.0),
    (5600.0, 9943.182, -78.0),
    (3200.0, 4264.392, -78.0),
    (5600.0, 6965.174, -35.0),
    (3200.0, 3603.604, -35.0),
    (5600.0, 6227.758, -18.0),
    (3200.0, 3395.586, -18.0),
];

#[test]
fn mired_shifts() {
    for (from, to, shift) in MIRED {
        assert!((color::mired_shift(from, to) - shift).abs() < 1e-3);
        assert!((color::shifted_kelvin(from, shift).unwrap() / to - 1.0).abs() < 1e-5);
    }
    assert_eq!(color::shifted_kelvin(10_000.0, -137.0), None);
}

/// Width, height, focal length in mm; horizontal, vertical, diagonal angle in degrees: 2 atan(d/2f).
const VIEWS: [(f64, f64, f64, f64, f64, f64); 12] = [
    (36.0, 24.0, 24.0, 73.7398, 53.1301, 84.06223),
    (36.0, 24.0, 50.0, 39.59775, 26.99147, 46.793),
    (36.0, 24.0, 85.0, 23.91317, 16.07142, 28.55832),
    (36.0, 24.0, 200.0, 10.28553, 6.867261, 12.34697),
    (23.6, 15.7, 24.0, 52.36362, 36.22412, 61.12581),
    (23.6, 15.7, 50.0, 26.55767, 17.8452, 31.65097),
    (23.6, 15.7, 85.0, 15.80698, 10.55293, 18.93242),
    (23.6, 15.7, 200.0, 6.753073, 4.495411, 8.106748),
    (44.0, 33.0, 24.0, 85.02089, 69.01705, 97.77582),
    (44.0, 33.0, 50.0, 47.49899, 36.52578, 57.62159),
    (44.0, 33.0, 85.0, 29.02212, 21.971, 35.85584),
    (44.0, 33.0, 200.0, 12.5546, 9.432442, 15.65815),
];
/// f, N, c, focus, hyperfocal, near, far in mm.
const DEPTHS: [[f64; 7]; 9] = [
    [50.0, 8.0, 0.03, 5000.0, 10466.67, 3389.371, 9527.439],
    [50.0, 8.0, 0.03, 3000.0, 10466.67, 2337.905, 4185.268],
    [85.0, 2.8, 0.03, 2000.0, 86096.9, 1956.441, 2045.543],
    [85.0, 1.8, 0.03, 2000.0, 133881.3, 1971.778, 2029.041],
    [85.0, 8.0, 0.03, 2500.0, 30189.17, 2314.34, 2718.046],
    [105.0, 5.6, 0.03, 2000.0, 65730.0, 1943.868, 2059.47],
    [135.0, 8.0, 0.029, 3000.0, 78691.03, 2894.438, 3113.554],
    [35.0, 11.0, 0.03, 2000.0, 3747.121, 1307.748, 4249.415],
    [200.0, 4.0, 0.03, 10000.0, 333533.3, 9714.397, 10302.91],
];
/// f, N, focus, point, blur on the sensor in mm.
const BLURS: [(f64, f64, f64, f64, f64); 5] = [
    (85.0, 1.8, 2000.0, 4000.0, 1.048013),
    (85.0, 8.0, 2000.0, 4000.0, 0.2358029),
    (50.0, 2.0, 1500.0, 3000.0, 0.4310345),
    (105.0, 5.6, 2500.0, 1500.0, 0.5480167),
    (85.0, 1.8, 2000.0, 1000000000000.0, 2.096026),
];

#[test]
fn lens_angles_depth_and_blur() {
    for (w, h, f, horizontal, vertical, diagonal) in VIEWS {
        let deg = |size: f64| lens::field_of_view_rad(size, f).to_degrees();
        assert!((deg(w) - horizontal).abs() < 1e-4);
        assert!((deg(h) - vertical).abs() < 1e-4);
        assert!((deg(w.hypot(h)) - diagonal).abs() < 1e-4);
    }
    for [f, n, coc, focus, hyperfocal, near, far] in DEPTHS {
        assert!((lens::hyperfocal_mm(f, n, coc) / hyperfocal - 1.0).abs() < 1e-6);
        let depth = lens::depth_of_field(f, n, coc, focus);
        assert!((depth.near_mm / near - 1.0).abs() < 1e-6);
        assert!((depth.far_mm / far - 1.0).abs() < 1e-6);
    }
    assert_eq!(lens::depth_of_field(35.0, 11.0, 0.03, 5000.0).far_mm, f64::INFINITY);
    for (f, n, focus, point, blur) in BLURS {
        assert!((lens::blur_disc_mm(f, n, focus, point) / blur - 1.0).abs() < 1e-6);
        // The smear in the subject is the blur over that plane's magnification.
        let magnification = f / (focus - f) * focus / point;
        let smear = lens::smear_mm(f, n, focus, point);
        assert!((smear * magnification / blur - 1.0).abs() < 1e-6);
    }
    assert!((lens::circle_of_confusion_mm(36.0, 24.0, 1442.0) - 0.03000459).abs() < 1e-8);
    assert!((lens::circle_of_confusion_mm(36.0, 24.0, 1500.0) - 0.02884441).abs() < 1e-8);
}
