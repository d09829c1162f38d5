// From linear light behind the lens to a developed picture: curtains, fall-off, stray light, black
// and white, contrast, tone; twin of src/picture/{taking,tone}.rs.

struct Finish {
    tone: Tone,
    pixels: u32,
    across: u32,
    // whether there is a second sum, shares, stray light
    two: u32,
    shaded: u32,
    stray: u32,
}

@group(0) @binding(0) var<uniform> finish: Finish;
// what the curtains cut, or all of it
@group(0) @binding(1) var<storage, read> first: array<vec4f>;
// what they do not
@group(0) @binding(2) var<storage, read> second: array<vec4f>;
// share of each sum that a pixel gets
@group(0) @binding(3) var<storage, read> shares: array<vec2f>;
@group(0) @binding(4) var<storage, read> strays: array<vec4f>;
// red in the low byte
@group(0) @binding(5) var<storage, read_write> picture: array<u32>;

@compute @workgroup_size(64)
fn finish_pixels(@builtin(global_invocation_id) id: vec3u) {
    let at = id.y * finish.across + id.x;
    if id.x >= finish.across || at >= finish.pixels {
        return;
    }
    var share = vec2f(1.0);
    if finish.shaded == 1u {
        share = shares[at];
    }
    var sum = share.x * first[at].xyz;
    if finish.two == 1u {
        sum += share.y * second[at].xyz;
    }
    if finish.stray == 1u {
        sum += strays[at].xyz;
    }
    picture[at] = developed(finish.tone, sum);
}
