// Layers to a linear sum, and to a developed picture where nothing lies between: mix, exposure,
// tone; twin of src/picture/{mix,tone}.rs.

struct Develop {
    tone: Tone,
    // pixels; lights of this dispatch, 0 to 4
    pixels: u32,
    lights: u32,
    // whether sums so far are kept, and whether to tone
    more: u32,
    last: u32,
    // picture value of a unit of each light
    factors: array<vec4f, 4>,
    across: u32,
}

@group(0) @binding(0) var<uniform> develop: Develop;
@group(0) @binding(1) var<storage, read> layer0: array<vec4f>;
@group(0) @binding(2) var<storage, read> layer1: array<vec4f>;
@group(0) @binding(3) var<storage, read> layer2: array<vec4f>;
@group(0) @binding(4) var<storage, read> layer3: array<vec4f>;
// linear sums where there are more than four lights, or more is to be done with them
@group(0) @binding(5) var<storage, read_write> linear: array<vec4f>;
// red in the low byte
@group(0) @binding(6) var<storage, read_write> picture: array<u32>;

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
    if develop.lights > 0u {
        sum += develop.factors[0].xyz * layer0[at].xyz;
    }
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
    picture[at] = developed(develop.tone, sum);
}
