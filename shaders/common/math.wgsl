// Constants and frames.

const PI: f32 = 3.14159265358979;
const TAU: f32 = 6.28318530717959;
const FRAC_1_PI: f32 = 0.318309886183791;
const FRAC_PI_2: f32 = 1.5707963267949;
// stands for "no limit" along a ray, metres
const FAR: f32 = 1e30;

struct Basis {
    t: vec3f,
    b: vec3f,
}

// Two unit vectors across a unit normal (Duff et al. 2017, 'Building an Orthonormal Basis, Revisited').
fn basis(n: vec3f) -> Basis {
    let side = select(-1.0, 1.0, n.z >= 0.0);
    let a = -1.0 / (side + n.z);
    let b = n.x * n.y * a;
    return Basis(
        vec3f(1.0 + side * n.x * n.x * a, side * b, -side * n.x),
        vec3f(b, side + n.y * n.y * a, -n.y),
    );
}

fn max_element(v: vec3f) -> f32 {
    return max(v.x, max(v.y, v.z));
}

fn squared(x: f32) -> f32 {
    return x * x;
}

// A direction about z with the given cosine.
fn around_z(cos_theta: f32, turn: f32) -> vec3f {
    let sin_theta = sqrt(max(1.0 - cos_theta * cos_theta, 0.0));
    let phi = TAU * turn;
    return vec3f(sin_theta * cos(phi), sin_theta * sin(phi), cos_theta);
}

// A direction with density cosθ/π; never exactly in the plane, where the density would be zero.
fn cosine_hemisphere(u: f32, v: f32) -> vec3f {
    let r = sqrt(u);
    let phi = TAU * v;
    return vec3f(r * cos(phi), r * sin(phi), sqrt(max(1.0 - u, 1e-12)));
}

// Unit normal from two signed 16-bit halves of an octahedral map (Cigolle et al. 2014).
fn unpack_normal(packed: u32) -> vec3f {
    let e = unpack2x16snorm(packed);
    var n = vec3f(e, 1.0 - abs(e.x) - abs(e.y));
    let fold = max(-n.z, 0.0);
    n.x += select(fold, -fold, n.x >= 0.0);
    n.y += select(fold, -fold, n.y >= 0.0);
    return normalize(n);
}

// Angle whose 1 − cosine is given, 0 to 90°. By the half angle's tangent, so that it is exact near 0,
// and by Abramowitz & Stegun 1964, 4.4.49 (to 2e-8), since cards' own arc functions are off by 1e-4.
fn angle_of_versine(versine: f32) -> f32 {
    let t2 = versine / (2.0 - versine);
    let series = 1.0 + t2 * (-0.3333314528 + t2 * (0.1999355085 + t2 * (-0.1420889944
        + t2 * (0.1065626393 + t2 * (-0.0752896400 + t2 * (0.0429096138
        + t2 * (-0.0161657367 + t2 * 0.0028662257)))))));
    return 2.0 * sqrt(t2) * series;
}
