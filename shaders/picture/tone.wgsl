// Black and white, contrast and tone; twin of src/picture/tone.rs.

struct Tone {
    // neutral curve, two pieces: x, x, y, y and slope, slope; straight where 1
    middle: vec4f,
    shoulder: vec4f,
    middle_slope: vec2f,
    shoulder_slope: vec2f,
    // shares of red, green and blue in black and white; w: whether it is
    monochrome: vec4f,
    contrast: f32,
    straight: u32,
}

const GREY: f32 = 0.18;
const FADE: f32 = 0.25;

fn hermite(x: f32, ends: vec4f, slope: vec2f) -> f32 {
    let width = ends.y - ends.x;
    let t = (x - ends.x) / width;
    let s = 1.0 - t;
    return s * s * ((1.0 + 2.0 * t) * ends.z + t * width * slope.x)
        + t * t * ((1.0 + 2.0 * s) * ends.w - s * width * slope.y);
}

fn curve(tone: Tone, encoded: f32) -> f32 {
    if encoded <= tone.middle.x {
        return encoded;
    }
    if encoded <= tone.shoulder.x {
        return hermite(encoded, tone.middle, tone.middle_slope);
    }
    if encoded < tone.shoulder.y {
        return hermite(encoded, tone.shoulder, tone.shoulder_slope);
    }
    return 1.0;
}

fn prepared(tone: Tone, linear: vec3f) -> vec3f {
    var value = max(linear, vec3f(0.0));
    if tone.monochrome.w == 1.0 {
        value = vec3f(max(dot(tone.monochrome.xyz, linear), 0.0));
    }
    let peak = max(value.x, max(value.y, value.z));
    if tone.contrast == 1.0 || peak <= 0.0 {
        return value;
    }
    return value * pow(peak / GREY, tone.contrast - 1.0);
}

fn toned(tone: Tone, held: vec3f) -> vec3f {
    let peak = max(held.x, max(held.y, held.z));
    if tone.straight == 1u || peak <= GREY {
        return min(held, vec3f(1.0));
    }
    let shown = srgb_decode(curve(tone, srgb_encode(peak)));
    let beyond = max(peak - 1.0, 0.0);
    let over = FADE * beyond * beyond / peak;
    return mix(held * (shown / peak), vec3f(shown), over / (1.0 + over));
}

// A pixel as a word, red in the low byte.
fn developed(tone: Tone, linear: vec3f) -> u32 {
    let value = toned(tone, prepared(tone, linear));
    let code = vec3f(srgb_encode(value.x), srgb_encode(value.y), srgb_encode(value.z));
    return pack4x8unorm(vec4f(code, 1.0));
}
