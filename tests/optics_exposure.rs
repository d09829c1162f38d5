//! Exposure arithmetic against published values.
#![expect(clippy::approx_constant, reason = "published figures stand as printed")]

use foreshadow::optics::beam::Beam;
use foreshadow::optics::exposure::{self, Exposure, METER_CONSTANT};
use foreshadow::optics::{fstop, photometry};

#[track_caller]
fn close(got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs().max(1e-9), "{got}, {expected}");
}

/// Marked f-number, its Av, the full stop it names, exact f-number (APEX).
const F_STOPS: [(f64, f64, f64, f64); 11] = [
    (1.0, 0.0, 0.0, 1.0),
    (1.4, 0.9708537, 1.0, 1.414214),
    (2.0, 2.0, 2.0, 2.0),
    (2.8, 2.970854, 3.0, 2.828427),
    (4.0, 4.0, 4.0, 4.0),
    (5.6, 4.970854, 5.0, 5.656854),
    (8.0, 6.0, 6.0, 8.0),
    (11.0, 6.918863, 7.0, 11.31371),
    (16.0, 8.0, 8.0, 16.0),
    (22.0, 8.918863, 9.0, 22.62742),
    (32.0, 10.0, 10.0, 32.0),
];

#[test]
fn apertures_follow_apex() {
    for (marked, av, stop, exact) in F_STOPS {
        assert!((exposure::aperture_value(marked) - av).abs() < 1e-6);
        close(exposure::f_number(stop), exact, 1e-6);
        close(fstop::parse(&format!("f/{marked}")).unwrap(), exact, 1e-6);
        assert_eq!(fstop::reading(exact, fstop::Step::Thirds), format!("f/{marked}"));
    }
    // Exif examples: ShutterSpeedValue 8643856/1000000 is 1/400 s, ApertureValue 1.695994 f/1.8.
    close(exposure::shutter_s(8.643856), 1.0 / 399.99995, 1e-7);
    close(exposure::f_number(1.695994), 1.8, 1e-6);
}

/// Seconds, Tv (APEX).
const SHUTTERS: [(f64, f64); 14] = [
    (1.0, -0.0),
    (0.5, 1.0),
    (0.25, 2.0),
    (0.125, 3.0),
    (0.06666667, 3.906891),
    (0.03333333, 4.906891),
    (0.01666667, 5.906891),
    (0.008, 6.965784),
    (0.004, 7.965784),
    (0.002, 8.965784),
    (0.001, 9.965784),
    (0.0025, 8.643856),
    (0.00625, 7.321928),
    (0.005, 7.643856),
];
/// S, Sv (APEX), saturation and standard output exposures in lx·s (ISO 12232), guide number factor.
const SPEEDS: [(f64, f64, f64, f64, f64); 10] = [
    (50.0, 4.0, 1.56, 0.2, 0.7071068),
    (64.0, 4.356144, 1.21875, 0.15625, 0.8),
    (100.0, 5.0, 0.78, 0.1, 1.0),
    (125.0, 5.321928, 0.624, 0.08, 1.118034),
    (200.0, 6.0, 0.39, 0.05, 1.414214),
    (400.0, 7.0, 0.195, 0.025, 2.0),
    (800.0, 8.0, 0.0975, 0.0125, 2.828427),
    (1600.0, 9.0, 0.04875, 0.00625, 4.0),
    (3200.0, 10.0, 0.024375, 0.003125, 5.656854),
    (6400.0, 11.0, 0.0121875, 0.0015625, 8.0),
];

#[test]
fn shutters_and_speeds_follow_apex_and_iso_12232() {
    for (seconds, tv) in SHUTTERS {
        assert!((exposure::time_value(seconds) - tv).abs() < 1e-6);
        close(exposure::shutter_s(tv), seconds, 1e-6);
    }
    for (iso, sv, saturation, output, factor) in SPEEDS {
        assert!((exposure::speed_value(iso) - sv).abs() < 1e-6);
        close(exposure::saturation_exposure_lux_s(iso), saturation, 1e-6);
        close(exposure::output_exposure_lux_s(iso), output, 1e-6);
        close(exposure::guide_number_at(1.0, iso, 0.0), factor, 1e-6);
    }
    let setting = Exposure { iso: 100.0, f_number: 8.0, shutter_s: 1.0 / 125.0 };
    assert!((setting.ev() - 12.9658).abs() < 1e-4);
    // Ev = Bv + Sv: the setting at ISO 400 suits light two stops dimmer.
    let faster = Exposure { iso: 400.0, ..setting };
    assert!((faster.ev100() - (setting.ev100() - 2.0)).abs() < 1e-12);
}

/// EV at ISO 100, cd/m² for K 12.5 and 14, lx for C 250 (ISO 2720:1974 forms).
const EV: [(f64, f64, f64, f64); 23] = [
    (-4.0, 0.0078125, 0.00875, 0.15625),
    (-3.0, 0.015625, 0.0175, 0.3125),
    (-2.0, 0.03125, 0.035, 0.625),
    (-1.0, 0.0625, 0.07, 1.25),
    (0.0, 0.125, 0.14, 2.5),
    (1.0, 0.25, 0.28, 5.0),
    (2.0, 0.5, 0.56, 10.0),
    (3.0, 1.0, 1.12, 20.0),
    (4.0, 2.0, 2.24, 40.0),
    (5.0, 4.0, 4.48, 80.0),
    (6.0, 8.0, 8.96, 160.0),
    (7.0, 16.0, 17.92, 320.0),
    (8.0, 32.0, 35.84, 640.0),
    (9.0, 64.0, 71.68, 1280.0),
    (10.0, 128.0, 143.36, 2560.0),
    (11.0, 256.0, 286.72, 5120.0),
    (12.0, 512.0, 573.44, 10240.0),
    (13.0, 1024.0, 1146.88, 20480.0),
    (14.0, 2048.0, 2293.76, 40960.0),
    (15.0, 4096.0, 4587.52, 81920.0),
    (16.0, 8192.0, 9175.04, 163840.0),
    (17.0, 16384.0, 18350.08, 327680.0),
    (18.0, 32768.0, 36700.16, 655360.0),
];

#[test]
fn exposure_values_are_light_levels() {
    for (ev, l125, l14, lux) in EV {
        close(exposure::luminance_from_ev100(ev, 12.5), l125, 1e-12);
        close(exposure::luminance_from_ev100(ev, 14.0), l14, 1e-12);
        close(exposure::lux_from_ev100(ev, 250.0), lux, 1e-12);
        assert!((exposure::ev100_from_lux(lux, 250.0) - ev).abs() < 1e-12);
    }
    // f/16 at 1/S with K 12.5 meters 3200 cd/m² (after ANSI PH3.49).
    let sunny = Exposure { iso: 100.0, f_number: 16.0, shutter_s: 0.01 };
    close(exposure::luminance_from_ev100(sunny.ev100(), 12.5), 3200.0, 1e-12);
}

#[test]
fn the_sensor_places_tones_as_iso_12232_says() {
    let setting = Exposure { iso: 100.0, f_number: 8.0, shutter_s: 1.0 / 125.0 };
    // H = 0.65·L/N²: 10/S at L = 64/6.5 cd·s/m² gives mid-grey.
    close(setting.linear_from_flash(64.0 / 6.5), 0.18, 1e-12);
    close(setting.linear_from_steady(64.0 / 6.5 * 125.0), 0.18, 1e-12);
    // 1.2·2^EV100 clips the sensor.
    let clip = 1.2 * setting.ev100().exp2();
    close(setting.linear_from_steady(clip), exposure::SENSOR_CLIP, 1e-12);
    close(10.0 / 78.0, 0.1282051, 1e-6);
    close(0.18 / exposure::SENSOR_CLIP, 0.1282051, 1e-6);
    // Diffuse white is 0.4895 stop below the clip.
    assert!(((exposure::SENSOR_CLIP / 1.0f64).log2() - 0.4895429).abs() < 1e-6);
    // A K 12.5 meter's tone is 8.125/S.
    let metered = exposure::luminance_from_ev100(setting.ev100(), 12.5);
    close(setting.linear_from_steady(metered), 0.18 * 0.8125, 1e-12);
    // 18 % card under E = 2500 lx.
    close(exposure::lambertian_luminance(2500.0, 0.18), 143.2394, 1e-6);
    // The card under a metered flash exposure: 0.18·(0.65·250·0.18/π)/10 = 0.1676.
    let card = exposure::lambertian_luminance(setting.metered_lux_s(METER_CONSTANT), 0.18);
    close(setting.linear_from_flash(card), 0.167590, 1e-5);
    // The shutter is no part of it.
    let longer = Exposure { shutter_s: 1.0 / 60.0, ..setting };
    assert_eq!(setting.linear_from_flash(1.0), longer.linear_from_flash(1.0));
}

/// Guide number in metres at ISO 100, cd·s at C 250, the number at ISO 200, at 1/2 and at 1/4 power.
const GUIDES: [(f64, f64, f64, f64, f64); 8] = [
    (12.0, 360.0, 16.97056, 8.485281, 6.0),
    (20.0, 1000.0, 28.28427, 14.14214, 10.0),
    (22.0, 1210.0, 31.1127, 15.55635, 11.0),
    (36.0, 3240.0, 50.91169, 25.45584, 18.0),
    (40.0, 4000.0, 56.56854, 28.28427, 20.0),
    (58.0, 8410.0, 82.02439, 41.01219, 29.0),
    (60.0, 9000.0, 84.85281, 42.42641, 30.0),
    (80.0, 16000.0, 113.1371, 56.56854, 40.0),
];

#[test]
fn guide_numbers_scale_and_tell_intensity() {
    for (guide, intensity, iso200, half, quarter) in GUIDES {
        close(exposure::intensity_from_guide_number(guide, 250.0), intensity, 1e-6);
        close(exposure::guide_number_from_intensity(intensity, 250.0), guide, 1e-6);
        close(exposure::guide_number_at(guide, 200.0, 0.0), iso200, 1e-6);
        close(exposure::guide_number_at(guide, 100.0, -1.0), half, 1e-6);
        close(exposure::guide_number_at(guide, 100.0, -2.0), quarter, 1e-6);
    }
    // Printed by makers: 51 m at 9 m is f/5.67, 167 ft at 30 ft f/5.57 (Kodak DCS 600 manual).
    close(exposure::f_number_at_distance(51.0, 9.0), 5.67, 5e-3);
    close(exposure::f_number_at_distance(167.0, 30.0), 5.57, 5e-3);
    close(exposure::f_number_at_distance(32.0, 4.0), 8.0, 5e-3);
    close(exposure::f_number_at_distance(45.0, 5.0), 9.0, 5e-3);
    // f/8 at ISO 100 needs 160 lx·s at C 250.
    let setting = Exposure { iso: 100.0, f_number: 8.0, shutter_s: 0.008 };
    close(setting.metered_lux_s(250.0), 160.0, 1e-12);
}

/// W·s, lm·s per W·s, solid angle in sr, metres, ISO, then cd·s, lx·s, f-number at C 250, guide number.
/// Arithmetic from Q = ηW, I = Q/Ω, H = I/d², N = √(HS/C).
const ENERGY: [[f64; 9]; 21] = [
    [100.0, 40.0, 12.56637, 1.0, 100.0, 318.3099, 318.3099, 11.28379, 11.28379],
    [100.0, 40.0, 12.56637, 2.0, 100.0, 318.3099, 79.57747, 5.641896, 11.28379],
    [100.0, 40.0, 12.56637, 2.0, 400.0, 318.3099, 79.57747, 11.28379, 22.56758],
    [400.0, 40.0, 12.56637, 1.0, 100.0, 1273.24, 1273.24, 22.56758, 22.56758],
    [400.0, 40.0, 12.56637, 2.0, 100.0, 1273.24, 318.3099, 11.28379, 22.56758],
    [400.0, 40.0, 12.56637, 2.0, 400.0, 1273.24, 318.3099, 22.56758, 45.13517],
    [400.0, 40.0, 6.283185, 1.0, 100.0, 2546.479, 2546.479, 31.91538, 31.91538],
    [400.0, 40.0, 6.283185, 2.0, 100.0, 2546.479, 636.6198, 15.95769, 31.91538],
    [400.0, 40.0, 6.283185, 2.0, 400.0, 2546.479, 636.6198, 31.91538, 63.83076],
    [400.0, 40.0, 3.141593, 1.0, 100.0, 5092.958, 5092.958, 45.13517, 45.13517],
    [400.0, 40.0, 3.141593, 2.0, 100.0, 5092.958, 1273.24, 22.56758, 45.13517],
    [400.0, 40.0, 3.141593, 2.0, 400.0, 5092.958, 1273.24, 45.13517, 90.27033],
    [400.0, 40.0, 0.9840006, 1.0, 100.0, 16260.15, 16260.15, 80.64776, 80.64776],
    [400.0, 40.0, 0.9840006, 2.0, 100.0, 16260.15, 4065.038, 40.32388, 80.64776],
    [400.0, 40.0, 0.9840006, 2.0, 400.0, 16260.15, 4065.038, 80.64776, 161.2955],
    [500.0, 30.0, 0.5886855, 1.0, 100.0, 25480.5, 25480.5, 100.9564, 100.9564],
    [500.0, 30.0, 0.5886855, 2.0, 100.0, 25480.5, 6370.124, 50.47821, 100.9564],
    [500.0, 30.0, 0.5886855, 2.0, 400.0, 25480.5, 6370.124, 100.9564, 201.9128],
    [60.0, 35.0, 0.8417872, 1.0, 100.0, 2494.692, 2494.692, 31.58919, 31.58919],
    [60.0, 35.0, 0.8417872, 2.0, 100.0, 2494.692, 623.6731, 15.79459, 31.58919],
    [60.0, 35.0, 0.8417872, 2.0, 400.0, 2494.692, 623.6731, 31.58919, 63.17838],
];

#[test]
fn stored_energy_becomes_an_aperture() {
    for [ws, lm_s_per_ws, omega, d, iso, intensity, lux_s, n, guide] in ENERGY {
        let lm_s = photometry::luminous_energy_lm_s(ws, lm_s_per_ws);
        let cd_s = photometry::axial_intensity_cd_s(lm_s, omega);
        close(cd_s, intensity, 1e-5);
        let h = photometry::luminous_exposure_lux_s(cd_s, d);
        close(h, lux_s, 1e-5);
        close(exposure::metered_f_number(h, iso, 250.0), n, 1e-5);
        let at_iso = exposure::guide_number_from_intensity(cd_s, 250.0);
        close(exposure::guide_number_at(at_iso, iso, 0.0), guide, 1e-5);
    }
    close(photometry::cone_sr(f64::to_radians(32.5)), 0.9840006, 1e-6);
    // A Lambertian front spreads over π sr.
    close(Beam::Cosine { exponent: 1.0 }.solid_angle(), std::f64::consts::PI, 1e-9);
}

/// Set f-number, seconds, ISO, ambient lx, flash lx·s, metered f-number, stops over. Arithmetic at C 250.
const MIXED: [[f64; 7]; 5] = [
    [8.0, 0.008, 100.0, 0.0, 160.0, 8.0, 0.0],
    [8.0, 0.008, 100.0, 1000.0, 160.0, 8.197561, 0.07038933],
    [8.0, 0.01666667, 100.0, 1000.0, 160.0, 8.406347, 0.142958],
    [5.6, 0.005, 100.0, 500.0, 78.4, 5.688585, 0.04528605],
    [11.0, 0.005, 100.0, 200.0, 302.5, 11.01817, 0.004761374],
];

#[test]
fn flash_and_ambient_add_as_light() {
    for [f_number, shutter_s, iso, lux, flash, metered, over] in MIXED {
        let setting = Exposure { iso, f_number, shutter_s };
        let total = flash + lux * shutter_s;
        close(exposure::metered_f_number(total, iso, 250.0), metered, 1e-5);
        assert!((setting.stops_over(total, 250.0) - over).abs() < 1e-5);
    }
}

/// From metres, to metres, stops.
const DISTANCES: [(f64, f64, f64); 16] = [
    (1.0, 1.414214, -1.0),
    (1.0, 2.0, -2.0),
    (2.0, 3.0, -1.169925),
    (3.0, 1.0, 3.169925),
    (2.0, 4.0, -2.0),
    (1.0, 1.5, -1.169925),
    (1.0, 3.0, -3.169925),
    (1.0, 4.0, -4.0),
    (1.0, 5.0, -4.643856),
    (1.5, 2.5, -1.473931),
    (2.0, 2.5, -0.6438562),
    (4.0, 6.0, -1.169925),
    (0.5, 1.0, -2.0),
    (1.0, 10.0, -6.643856),
    (3.0, 4.5, -1.169925),
    (1.2, 3.2, -2.830075),
];
/// Light to subject, subject to background in metres, background relative to subject in stops.
const BACKGROUNDS: [(f64, f64, f64); 25] = [
    (0.5, 0.5, -2.0),
    (0.5, 1.0, -3.169925),
    (0.5, 1.5, -4.0),
    (0.5, 2.0, -4.643856),
    (0.5, 3.0, -5.61471),
    (1.0, 0.5, -1.169925),
    (1.0, 1.0, -2.0),
    (1.0, 1.5, -2.643856),
    (1.0, 2.0, -3.169925),
    (1.0, 3.0, -4.0),
    (1.5, 0.5, -0.830075),
    (1.5, 1.0, -1.473931),
    (1.5, 1.5, -2.0),
    (1.5, 2.0, -2.444785),
    (1.5, 3.0, -3.169925),
    (2.0, 0.5, -0.6438562),
    (2.0, 1.0, -1.169925),
    (2.0, 1.5, -1.61471),
    (2.0, 2.0, -2.0),
    (2.0, 3.0, -2.643856),
    (3.0, 0.5, -0.4447848),
    (3.0, 1.0, -0.830075),
    (3.0, 1.5, -1.169925),
    (3.0, 2.0, -1.473931),
    (3.0, 3.0, -2.0),
];
/// Key minus fill in stops, key:fill, (key + fill):fill.
const RATIOS: [(f64, f64, f64); 11] = [
    (0.0, 1.0, 2.0),
    (0.3333333, 1.259921, 2.259921),
    (0.5, 1.414214, 2.414214),
    (0.6666667, 1.587401, 2.587401),
    (1.0, 2.0, 3.0),
    (1.5, 2.828427, 3.828427),
    (2.0, 4.0, 5.0),
    (2.5, 5.656854, 6.656854),
    (3.0, 8.0, 9.0),
    (4.0, 16.0, 17.0),
    (5.0, 32.0, 33.0),
];
/// Two readings and what they make together.
const PAIRS: [(f64, f64, f64); 7] = [
    (8.0, 8.0, 11.31371),
    (8.0, 5.656854, 9.797959),
    (8.0, 4.0, 8.944272),
    (8.0, 2.828427, 8.485281),
    (11.31371, 8.0, 13.85641),
    (5.656854, 5.656854, 8.0),
    (16.0, 8.0, 17.88854),
];

#[test]
fn distance_adding_and_ratios() {
    for (from, to, stops) in DISTANCES {
        assert!((exposure::inverse_square_stops(from, to) - stops).abs() < 1e-5);
    }
    for (to_subject, gap, stops) in BACKGROUNDS {
        assert!((exposure::background_stops(to_subject, gap) - stops).abs() < 1e-5);
    }
    for (stops, key, lit) in RATIOS {
        close(exposure::key_to_fill(stops), key, 1e-6);
        close(exposure::lit_to_shadow(stops), lit, 1e-6);
    }
    for (a, b, together) in PAIRS {
        close(exposure::combined_f_number(&[a, b]), together, 1e-6);
    }
    for (n, stops) in [(1, 0.0), (2, 1.0), (3, 1.584963), (4, 2.0), (6, 2.584963), (16, 4.0)] {
        assert!((exposure::combined_power_stops(&vec![0.0; n]) - stops).abs() < 1e-6);
        let gain = exposure::stops_between(1.0, exposure::combined_f_number(&vec![1.0; n]));
        assert!((gain - stops).abs() < 1e-6);
    }
    assert!((exposure::tilt_stops(f64::to_radians(60.0)) + 1.0).abs() < 1e-12);
}

/// Density, transmittance, stops.
const FILTERS: [(f64, f64, f64); 10] = [
    (0.1, 0.7943282, 0.3321928),
    (0.15, 0.7079458, 0.4982892),
    (0.3, 0.5011872, 0.9965784),
    (0.6, 0.2511886, 1.993157),
    (0.9, 0.1258925, 2.989735),
    (1.2, 0.06309573, 3.986314),
    (1.5, 0.03162278, 4.982892),
    (1.8, 0.01584893, 5.979471),
    (2.0, 0.01, 6.643856),
    (3.0, 0.001, 9.965784),
];
/// f-number, transmittance, T-number.
const LENSES: [(f64, f64, f64); 12] = [
    (1.4, 0.5, 1.979899),
    (1.4, 0.85, 1.518513),
    (1.4, 0.95, 1.43637),
    (2.0, 0.5, 2.828427),
    (2.0, 0.85, 2.169305),
    (2.0, 0.95, 2.051957),
    (2.8, 0.5, 3.959798),
    (2.8, 0.85, 3.037026),
    (2.8, 0.95, 2.872739),
    (4.0, 0.5, 5.656854),
    (4.0, 0.85, 4.338609),
    (4.0, 0.95, 4.103913),
];
/// Curtain travel and shutter time in seconds, stops lost. A model of our own, no published source.
const SLITS: [(f64, f64, f64); 14] = [
    (0.004, 0.004, 1.0),
    (0.004, 0.003125, 1.189034),
    (0.004, 0.002, 1.584963),
    (0.004, 0.001, 2.321928),
    (0.004, 0.0005, 3.169925),
    (0.004, 0.00025, 4.087463),
    (0.004, 0.000125, 5.044394),
    (0.003333333, 0.004, 0.8744691),
    (0.003333333, 0.003125, 1.047306),
    (0.003333333, 0.002, 1.415037),
    (0.003333333, 0.001, 2.115477),
    (0.003333333, 0.0005, 2.938599),
    (0.003333333, 0.00025, 3.841302),
    (0.003333333, 0.000125, 4.790077),
];

#[test]
fn filters_lenses_and_slits() {
    for (density, transmittance, stops) in FILTERS {
        close(exposure::density_transmittance(density), transmittance, 1e-6);
        assert!((exposure::density_stops(density) - stops).abs() < 1e-6);
    }
    for (n, transmittance, t) in LENSES {
        close(exposure::t_number(n, transmittance), t, 1e-6);
    }
    for (curtain, shutter, stops) in SLITS {
        let loss = exposure::high_speed_sync_loss_stops(shutter, curtain, 0.0);
        assert!((loss - stops).abs() < 1e-6, "{curtain} {shutter}: {loss} {stops}");
    }
}

#[test]
fn apertures_read_and_write_as_on_meters_and_dials() {
    use fstop::Step::{Tenths, Thirds};
    for (text, stops) in [
        ("f/8", 6.0),
        ("8", 6.0),
        ("f/5.6 + 1/3", 5.0 + 1.0 / 3.0),
        ("f/16+0.3", 8.3),
        (" f/6.3 ", 16.0 / 3.0),
    ] {
        let av = exposure::aperture_value(fstop::parse(text).unwrap());
        assert!((av - stops).abs() < 1e-9, "{text}: {av}");
    }
    // A number no dial has means itself.
    close(fstop::parse("f/7.9").unwrap(), 7.9, 1e-12);
    for bad in ["", "f/", "f/-8", "f/0", "eight", "f/8 +", "f/8 + x", "f/8 + 1/0", "inf", "NaN"] {
        assert_eq!(fstop::parse(bad), None, "{bad}");
    }
    let at = |av: f64| exposure::f_number(av);
    assert_eq!(fstop::reading(at(5.4), Tenths), "f/5.6 + 0.4");
    assert_eq!(fstop::reading(at(5.36), Thirds), "f/5.6 + 1/3");
    assert_eq!(fstop::reading(at(5.98), Thirds), "f/8");
    assert_eq!(fstop::reading(at(5.97), Tenths), "f/8");
    assert_eq!(fstop::reading(at(-0.7), Tenths), "f/0.7 + 0.3");
    assert_eq!(fstop::marked(8.4), "f/8");
    assert_eq!(fstop::marked(1.2), "f/1.2");
    assert_eq!(fstop::marked(22.6), "f/22");
    assert_eq!(fstop::marked(0.3), "f/0.30");
    // Every third that a dial marks reads back as itself.
    for third in -3..=36 {
        let n = at(f64::from(third) / 3.0);
        close(fstop::parse(&fstop::marked(n)).unwrap(), n, 1e-12);
    }
}
