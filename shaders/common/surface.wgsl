// How surfaces scatter; twin of src/optics/{surface,coat,velvet,metal,ggx,fresnel}.rs.
// Directions are in the local frame, z along the normal.

const DIFFUSE: u32 = 0u;
const COATED: u32 = 1u;
const VELVET: u32 = 2u;
const METAL: u32 = 3u;

const KNOTS: u32 = 64u;

struct Surface {
    // linear Rec.709; of the base where there is a coat
    reflectance: vec3f,
    kind: u32,
    // coat: index, GGX width, mean transmittance, internal reflectance
    // velvet: pile, scale of the sheen, mean rim
    // metal: GGX width, 1/mean albedo
    shape: vec4f,
    // where its albedo tables begin: coat: reflected, transmittance; velvet: rim
    albedo_at: u32,
}

@group(0) @binding(1) var<storage, read> surfaces: array<Surface>;
@group(0) @binding(2) var<storage, read> tables: array<f32>;

// Linear look-up over the cosine.
fn albedo_lookup(first: u32, cosine: f32) -> f32 {
    let x = clamp(cosine, 0.0, 1.0) * f32(KNOTS - 1u);
    let k = min(u32(x), KNOTS - 2u);
    let low = tables[first + k];
    return low + (x - f32(k)) * (tables[first + k + 1u] - low);
}

fn fresnel_dielectric(cos_i: f32, eta: f32) -> f32 {
    let c = clamp(cos_i, 0.0, 1.0);
    let t2 = 1.0 - (1.0 - c * c) / (eta * eta);
    if t2 <= 0.0 {
        return 1.0;
    }
    let t = sqrt(t2);
    let s = (c - eta * t) / (c + eta * t);
    let p = (eta * c - t) / (eta * c + t);
    return 0.5 * (s * s + p * p);
}

fn ggx_distribution(h: vec3f, alpha2: f32) -> f32 {
    let length2 = dot(h, h);
    let t = alpha2 * h.z * h.z + (h.x * h.x + h.y * h.y);
    return FRAC_1_PI * alpha2 * (length2 / t) * (length2 / t);
}

fn ggx_masking_over_cos(cosine: f32, alpha2: f32) -> f32 {
    return 2.0 / (cosine + sqrt(alpha2 + (1.0 - alpha2) * cosine * cosine));
}

fn ggx_sample_visible_normal(wo: vec3f, alpha: f32, u: f32, v: f32) -> vec3f {
    let stretched = normalize(vec3f(wo.xy * alpha, wo.z));
    let phi = TAU * u;
    let z = (1.0 - v) * (1.0 + stretched.z) - stretched.z;
    let r = sqrt(max(1.0 - z * z, 0.0));
    let cap = stretched + vec3f(r * cos(phi), r * sin(phi), z);
    return normalize(vec3f(cap.xy * alpha, max(cap.z, 0.0)));
}

// ρ/(n²(1 − ρ·F_int))
fn coat_escape(s: Surface, base: vec3f) -> vec3f {
    return base / (s.shape.x * s.shape.x) / (vec3f(1.0) - s.shape.w * base);
}

fn coat_specular_share(s: Surface, base: vec3f, cos_o: f32) -> f32 {
    let through = albedo_lookup(s.albedo_at + KNOTS, cos_o);
    let diffuse = through * s.shape.z * luminance(coat_escape(s, base));
    let lobe = albedo_lookup(s.albedo_at, cos_o);
    return clamp(lobe / max(lobe + diffuse, 1e-6), 0.02, 0.98);
}

// √ρ: one bounce on a fibre
fn velvet_left(s: Surface, cosine: f32) -> f32 {
    return 1.0 - s.shape.x * albedo_lookup(s.albedo_at, cosine);
}

fn velvet_rim_share(s: Surface, ground: vec3f, cos_o: f32) -> f32 {
    let left = velvet_left(s, cos_o);
    let rim = (1.0 - left) * luminance(sqrt(ground));
    let base = left * luminance(ground);
    return clamp(rim / max(rim + base, 1e-6), 0.02, 0.98);
}

// What one pair of directions gives: f in 1/sr, and the density with which each is drawn from the
// other, 1/sr.
struct Scattered {
    f: vec3f,
    // of wi, drawn for wo
    pdf: f32,
    // of wo, drawn for wi
    reverse: f32,
}

fn surface_scatter(s: Surface, reflectance: vec3f, wo: vec3f, wi: vec3f) -> Scattered {
    if wo.z <= 0.0 || wi.z <= 0.0 {
        return Scattered(vec3f(0.0), 0.0, 0.0);
    }
    if s.kind == COATED {
        let alpha2 = s.shape.y * s.shape.y;
        let h = wo + wi;
        let cos_d = dot(wo, h) / length(h);
        // half of the lobe's density, without the masking toward the eye
        let d = 0.25 * ggx_distribution(h, alpha2);
        let mask_o = ggx_masking_over_cos(wo.z, alpha2);
        let mask_i = ggx_masking_over_cos(wi.z, alpha2);
        let specular = fresnel_dielectric(cos_d, s.shape.x) * d * mask_o * mask_i;
        let through_at = s.albedo_at + KNOTS;
        let through =
            FRAC_1_PI * albedo_lookup(through_at, wo.z) * albedo_lookup(through_at, wi.z);
        let share_o = coat_specular_share(s, reflectance, wo.z);
        let share_i = coat_specular_share(s, reflectance, wi.z);
        return Scattered(
            vec3f(specular) + through * coat_escape(s, reflectance),
            share_o * d * mask_o + (1.0 - share_o) * FRAC_1_PI * wi.z,
            share_i * d * mask_i + (1.0 - share_i) * FRAC_1_PI * wo.z,
        );
    }
    if s.kind == VELVET {
        let h = wo + wi;
        let sin2 = (h.x * h.x + h.y * h.y) / dot(h, h);
        let sin4 = sin2 * sin2;
        let sheen = s.shape.y * 5.0 * FRAC_1_PI * sin4 * sin4
            / (4.0 * (wo.z + wi.z - wo.z * wi.z));
        let base = FRAC_1_PI * velvet_left(s, wo.z) * velvet_left(s, wi.z)
            / (1.0 - s.shape.x * s.shape.z);
        let share_o = velvet_rim_share(s, reflectance, wo.z);
        let share_i = velvet_rim_share(s, reflectance, wi.z);
        return Scattered(
            s.shape.x * sheen * sqrt(reflectance) + base * reflectance,
            share_o / TAU + (1.0 - share_o) * FRAC_1_PI * wi.z,
            share_i / TAU + (1.0 - share_i) * FRAC_1_PI * wo.z,
        );
    }
    if s.kind == METAL {
        // without the masking toward the eye, as above
        let d = 0.25 * ggx_distribution(wo + wi, s.shape.x * s.shape.x);
        let mask_o = ggx_masking_over_cos(wo.z, s.shape.x * s.shape.x);
        let mask_i = ggx_masking_over_cos(wi.z, s.shape.x * s.shape.x);
        let f = reflectance * (s.shape.y * d * mask_o * mask_i);
        return Scattered(f, d * mask_o, d * mask_i);
    }
    return Scattered(reflectance * FRAC_1_PI, wi.z * FRAC_1_PI, wo.z * FRAC_1_PI);
}

// A direction drawn for wo; zero where the draw falls below the surface.
fn surface_sample(s: Surface, reflectance: vec3f, wo: vec3f, u: vec3f) -> vec3f {
    if wo.z <= 0.0 {
        return vec3f(0.0);
    }
    if s.kind == COATED && u.x < coat_specular_share(s, reflectance, wo.z) {
        let m = ggx_sample_visible_normal(wo, s.shape.y, u.y, u.z);
        let wi = 2.0 * dot(wo, m) * m - wo;
        return select(vec3f(0.0), wi, wi.z > 0.0);
    }
    if s.kind == VELVET && u.x < velvet_rim_share(s, reflectance, wo.z) {
        let phi = TAU * u.z;
        let r = sqrt(max(1.0 - u.y * u.y, 0.0));
        return vec3f(r * cos(phi), r * sin(phi), max(u.y, 1e-6));
    }
    if s.kind == METAL {
        let m = ggx_sample_visible_normal(wo, s.shape.x, u.y, u.z);
        let wi = 2.0 * dot(wo, m) * m - wo;
        return select(vec3f(0.0), normalize(wi), wi.z > 0.0);
    }
    return cosine_hemisphere(u.y, u.z);
}
