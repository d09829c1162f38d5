// Layers to a developed picture: mix, exposure, tone; twin of src/picture/{mix,tone}.rs.

struct Develop {
    // pixels; lights of this dispatch, 1 to 4
    pixels: u32,
    lights: u32,
    // whether sums so far are kept, and whether to tone
    more: u32,
    last: u32,
    // picture value of a unit of each light
    factors: array<vec4f, 4>,
    // neutral curve, two pieces: x, x, y, y and slope, slope; straight where 1
    middle: vec4f,
    middle_slope: vec2f,
    straight: u32,
    across: u32,
    shoulder: vec4f,
    shoulder_slope: vec2f,
}

@group(0) @binding(0) var<uniform> develop: Develop;
@group(0) @binding(1) var<storage, read> layer0: array<vec4f>;
@group(0) @binding(2) var<storage, read> layer1: array<vec4f>;
@group(0) @binding(3) var<storage, read> layer2: array<vec4f>;
@group(0) @binding(4) var<storage, read> layer3: array<vec4f>;
// linear sums where there are more than four lights
@group(0) @binding(5) var<storage, read_write> linear: array<vec4f>;
// red in the low byte
@group(0) @binding(6) var<storage, read_write> picture: array<u32>;

const GREY: f32 = 0.18;
const FADE: f32 = 0.25;

fn hermite(x: f32, ends: vec4f, slope: vec2f) -> f32 {
    let width = ends.y - ends.x;
    let t = (x - ends.x) / width;
    let s = 1.0 - t;
    return s * s * ((1.0 + 2.0 * t) * ends.z + t * width * slope.x)
        + t * t * ((1.0 + 2.0 * s) * ends.w - s * width * slope.y);
}

fn curve(encoded: f32) -> f32 {
    if encoded <= develop.middle.x {
        return encoded;
    }
    if encoded <= develop.shoulder.x {
        return hermite(encoded, develop.middle, develop.middle_slope);
    }
    if encoded < develop.shoulder.y {
        return hermite(encoded, develop.shoulder, develop.shoulder_slope);
    }
    return 1.0;
}

fn toned(value: vec3f) -> vec3f {
    let held = max(value, vec3f(0.0));
    let peak = max(held.x, max(held.y, held.z));
    if develop.straight == 1u || peak <= GREY {
        return min(held, vec3f(1.0));
    }
    let shown = srgb_decode(curve(srgb_encode(peak)));
    let beyond = max(peak - 1.0, 0.0);
    let over = FADE * beyond * beyond / peak;
    return mix(held * (shown / peak), vec3f(shown), over / (1.0 + over));
}

@compute @workgroup_size(64)
fn develop_pixels(@builtin(global_invocation_id) id: vec3u) {
    let at = id.y * develop.across + id.x;
    if id.x >= develop.across || at >= develop.pixels {
        return;
    }
    var sum = vec3f(0.0);
    if develop.more == 1u {
        sum = linear[at].xyz;
    }
    sum += develop.factors[0].xyz * layer0[at].xyz;
    if develop.lights > 1u {
        sum += develop.factors[1].xyz * layer1[at].xyz;
    }
    if develop.lights > 2u {
        sum += develop.factors[2].xyz * layer2[at].xyz;
    }
    if develop.lights > 3u {
        sum += develop.factors[3].xyz * layer3[at].xyz;
    }
    if develop.last == 0u {
        linear[at] = vec4f(sum, 1.0);
        return;
    }
    let tone = toned(sum);
    let code = vec3f(srgb_encode(tone.x), srgb_encode(tone.y), srgb_encode(tone.z));
    picture[at] = pack4x8unorm(vec4f(code, 1.0));
}
