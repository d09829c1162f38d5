// Error of some tiles in today's mix; twin of Tile::measure_error in src/trace/film.rs.

const TILE: u32 = 16u;
const STREAMS: f32 = 4.0;
const MOST_LIGHTS: u32 = 72u;
const MOST_TILES: u32 = 4096u;
// pixels darker than this count as this
const DARK_FLOOR: f32 = 0.18 / 8.0;
// expectation of the sample standard deviation of four normal values over the true one
const DEVIATION_BIAS: f32 = 0.921;
const LOG2_E: f32 = 1.44269504;

struct Judge {
    size: vec2u,
    first_tile: u32,
    light_count: u32,
    // x: luminance of what a unit of the light comes to in the mix
    factors: array<vec4f, MOST_LIGHTS>,
    tiles: array<vec4u, MOST_TILES / 4u>,
}

@group(0) @binding(0) var<uniform> judge: Judge;
@group(0) @binding(1) var<storage, read> spreads: array<vec4f>;
@group(0) @binding(2) var<storage, read_write> errors: array<f32>;

var<workgroup> partial: array<vec2f, 64>;

@compute @workgroup_size(64)
fn judge_tiles(@builtin(workgroup_id) group: vec3u, @builtin(local_invocation_index) lane: u32) {
    let entry = judge.tiles[group.x / 4u][group.x % 4u];
    let slot = entry & 0xffffu;
    // samples of each stream
    let each = f32(entry >> 16u);
    let across = (judge.size.x + TILE - 1u) / TILE;
    let tile = judge.first_tile + slot;
    let corner = TILE * vec2u(tile % across, tile / across);
    var sum = vec2f(0.0);
    for (var k = lane; k < TILE * TILE; k += 64u) {
        let pixel = corner + vec2u(k % TILE, k / TILE);
        if pixel.x < judge.size.x && pixel.y < judge.size.y {
            var mixed = vec4f(0.0);
            for (var light = 0u; light < judge.light_count; light += 1u) {
                let at = (slot * judge.light_count + light) * TILE * TILE + k;
                mixed += judge.factors[light].x * spreads[at];
            }
            mixed /= each;
            let mean = dot(mixed, vec4f(1.0 / STREAMS));
            let off = mixed - mean;
            let variance = dot(off, off) / (STREAMS * (STREAMS - 1.0));
            sum += vec2f(sqrt(variance) / max(mean, DARK_FLOOR), 1.0);
        }
    }
    partial[lane] = sum;
    workgroupBarrier();
    for (var half = 32u; half > 0u; half /= 2u) {
        if lane < half {
            partial[lane] += partial[lane + half];
        }
        workgroupBarrier();
    }
    if lane == 0u {
        errors[slot] = partial[0].x / (partial[0].y * DEVIATION_BIAS) * LOG2_E;
    }
}
