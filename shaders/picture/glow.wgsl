// One pass of a two-dimensional cosine transform, as a product with a matrix of cosines: lines of
// `length` values, each turned into as many sums; twin of the transforms of src/picture/glare.rs.

struct Turn {
    // lines, values of a line
    lines: u32,
    length: u32,
    // from line to line, and from value to value
    stride: u32,
    step: u32,
    // 1: from frequencies back to places
    back: u32,
    // what becomes of a sum: 0 kept; 1 times the spectrum; 2 spread over the picture, by `share`
    finish: u32,
    share: f32,
}

@group(0) @binding(0) var<uniform> turn: Turn;
@group(0) @binding(1) var<storage, read> given: array<vec4f>;
@group(0) @binding(2) var<storage, read_write> made: array<vec4f>;
// cos(2πm/4N) for m from 0 to 4N
@group(0) @binding(3) var<storage, read> cosines: array<f32>;
@group(0) @binding(4) var<storage, read> spectrum: array<f32>;

const SIDE: u32 = 16u;
// lines of a group, two a thread
const ROWS: u32 = 32u;

var<workgroup> values: array<vec4f, 512>;
var<workgroup> waves: array<f32, 256>;

// cos(πk(2n + 1)/2N); going back, half for k = 0
fn wave(n: u32, k: u32) -> f32 {
    let found = cosines[(k * (2u * n + 1u)) % (4u * turn.length)];
    return select(found, 0.5 * found, turn.back == 1u && k == 0u);
}

@compute @workgroup_size(16, 16)
fn turn_lines(@builtin(workgroup_id) group: vec3u, @builtin(local_invocation_id) local: vec3u) {
    let first_line = group.y * ROWS;
    let out = group.x * SIDE + local.x;
    var sums = array<vec4f, 2>(vec4f(0.0), vec4f(0.0));
    for (var start = 0u; start < turn.length; start += SIDE) {
        for (var half = 0u; half < 2u; half += 1u) {
            // neighbours in memory are read by neighbouring threads
            var row = local.y + SIDE * half;
            var at = local.x;
            if turn.step != 1u {
                row = local.x + SIDE * half;
                at = local.y;
            }
            let line = first_line + row;
            var value = vec4f(0.0);
            if line < turn.lines && start + at < turn.length {
                value = given[line * turn.stride + (start + at) * turn.step];
            }
            values[row * SIDE + at] = value;
        }
        let other = start + local.y;
        waves[local.y * SIDE + local.x] = select(wave(other, out), wave(out, other), turn.back == 1u);
        workgroupBarrier();
        for (var k = 0u; k < SIDE; k += 1u) {
            let factor = waves[k * SIDE + local.x];
            sums[0] += values[local.y * SIDE + k] * factor;
            sums[1] += values[(local.y + SIDE) * SIDE + k] * factor;
        }
        workgroupBarrier();
    }
    if out >= turn.length {
        return;
    }
    for (var half = 0u; half < 2u; half += 1u) {
        let line = first_line + local.y + SIDE * half;
        if line >= turn.lines {
            continue;
        }
        let at = line * turn.stride + out * turn.step;
        switch turn.finish {
            case 1u: {
                made[at] = sums[half] * spectrum[at];
            }
            case 2u: {
                made[at] += turn.share * (max(sums[half], vec4f(0.0)) - made[at]);
            }
            default: {
                made[at] = sums[half];
            }
        }
    }
}
