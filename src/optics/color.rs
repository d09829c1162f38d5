//! Colour: linear Rec.709 with D65 white, sRGB encoding, colour temperature, white balance.

use glam::{DMat3, DVec3, Vec3};

/// Luminance weights of linear Rec.709 (ITU-R BT.709).
pub const LUMINANCE: Vec3 = Vec3::new(0.2126, 0.7152, 0.0722);
const LUMINANCE_F64: DVec3 = DVec3::new(0.2126, 0.7152, 0.0722);

/// Chromaticity of D65 (CIE 15).
pub const D65: Chromaticity = Chromaticity { x: 0.3127, y: 0.3290 };

/// CIE 1931 chromaticity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chromaticity {
    /// x.
    pub x: f64,
    /// y.
    pub y: f64,
}

impl Chromaticity {
    /// XYZ with Y = 1.
    pub fn xyz(self) -> DVec3 {
        DVec3::new(self.x / self.y, 1.0, (1.0 - self.x - self.y) / self.y)
    }
}

/// Luminance of a linear Rec.709 colour.
#[inline]
pub fn luminance(rgb: Vec3) -> f32 {
    rgb.dot(LUMINANCE)
}

/// The same where sums must keep their digits: readings, and paints against their reflectance.
#[inline]
pub fn luminance_f64(rgb: DVec3) -> f64 {
    rgb.dot(LUMINANCE_F64)
}

/// sRGB encoding of a linear value (IEC 61966-2-1), both 0 to 1.
pub fn srgb_encode(linear: f32) -> f32 {
    if linear <= 0.003_130_8 { 12.92 * linear } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 }
}

/// Linear value of an sRGB-encoded one.
pub fn srgb_decode(encoded: f32) -> f32 {
    if encoded <= 0.040_45 { encoded / 12.92 } else { ((encoded + 0.055) / 1.055).powf(2.4) }
}

/// Linear Rec.709 of `#rrggbb`; None if it is not a hash and six hexadecimal digits.
pub fn parse_hex(text: &str) -> Option<Vec3> {
    let digits = text.strip_prefix('#')?;
    if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let value = u32::from_str_radix(digits, 16).ok()?;
    let channel = |shift: u32| srgb_decode((value >> shift & 0xff) as f32 / 255.0);
    Some(Vec3::new(channel(16), channel(8), channel(0)))
}

/// Temperatures at which [`planckian`] holds, kelvin; others are held to them.
pub const KELVIN_RANGE: (f64, f64) = (1667.0, 25_000.0);

/// Chromaticity of a black body, by the cubic of Kang et al. (2002, 'Design of Advanced Color
/// Temperature Control System for HDTV Applications', J. Korean Phys. Soc. 41), within 2e-4 of
/// Planck's law from 3200 K to 25 000 K and 6e-4 from 2000 K.
pub fn planckian(kelvin: f64) -> Chromaticity {
    let t = kelvin.clamp(KELVIN_RANGE.0, KELVIN_RANGE.1);
    let m = 1000.0 / t;
    let x = if t <= 4000.0 {
        ((-0.266_123_9 * m - 0.234_358_9) * m + 0.877_695_6) * m + 0.179_910
    } else {
        ((-3.025_846_9 * m + 2.107_037_9) * m + 0.222_634_7) * m + 0.240_390
    };
    let y = if t <= 2222.0 {
        ((-1.106_381_4 * x - 1.348_110_20) * x + 2.185_558_32) * x - 0.202_196_83
    } else if t <= 4000.0 {
        ((-0.954_947_6 * x - 1.374_185_93) * x + 2.091_370_15) * x - 0.167_488_67
    } else {
        ((3.081_758_0 * x - 5.873_386_70) * x + 3.751_129_97) * x - 0.370_014_83
    };
    Chromaticity { x, y }
}

/// Linear Rec.709 of XYZ (IEC 61966-2-1).
fn rec709_from_xyz() -> DMat3 {
    // Built from the primaries and the white point, so that D65 is (1, 1, 1) to the last digit.
    let primaries = [(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)].map(|(x, y)| Chromaticity { x, y });
    let [r, g, b] = primaries.map(Chromaticity::xyz);
    let columns = DMat3::from_cols(r, g, b);
    let scale = columns.inverse() * D65.xyz();
    (columns * DMat3::from_diagonal(scale)).inverse()
}

/// Linear Rec.709 of a black body with luminance 1, not adapted: 3200 K is orange, D65 white.
/// Channels out of gamut come out negative.
pub fn planckian_rgb(kelvin: f64) -> Vec3 {
    (rec709_from_xyz() * planckian(kelvin).xyz()).as_vec3()
}

/// Bradford's cone-like responses of XYZ (Lam 1985; CIE 160:2004 gives the matrix).
fn bradford() -> DMat3 {
    DMat3::from_cols(
        DVec3::new(0.8951, -0.7502, 0.0389),
        DVec3::new(0.2664, 1.7135, -0.0685),
        DVec3::new(-0.1614, 0.0367, 1.0296),
    )
}

/// Matrix that adapts XYZ from one white to another (von Kries on Bradford's responses).
pub fn adaptation(from: Chromaticity, to: Chromaticity) -> DMat3 {
    let cone = bradford();
    let ratio = (cone * to.xyz()) / (cone * from.xyz());
    cone.inverse() * DMat3::from_diagonal(ratio) * cone
}

/// Gain on a white-light layer for a light of `kelvin` seen by a camera balanced for
/// `white_balance` kelvin. Equal temperatures give exactly white; the luminance is 1 always, so
/// that colour does not change a reading. Channels out of gamut are held at zero.
pub fn light_gain(kelvin: f64, white_balance: f64) -> Vec3 {
    if kelvin == white_balance {
        return Vec3::ONE;
    }
    let adapted = adaptation(planckian(white_balance), D65) * planckian(kelvin).xyz();
    let rgb = (rec709_from_xyz() * adapted).as_vec3().max(Vec3::ZERO);
    rgb / luminance(rgb)
}

/// Shift in mired (micro reciprocal degrees) from one temperature to another; + is warmer.
pub fn mired_shift(from_kelvin: f64, to_kelvin: f64) -> f64 {
    1e6 / to_kelvin - 1e6 / from_kelvin
}

/// Temperature of a light of `kelvin` behind a filter of `shift` mired; None if the shift is
/// more than the light has (bluer than any black body).
pub fn shifted_kelvin(kelvin: f64, shift: f64) -> Option<f64> {
    let mired = 1e6 / kelvin + shift;
    (mired > 0.0).then(|| 1e6 / mired)
}
