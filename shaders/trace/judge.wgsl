// Error of some tiles in today's mix, and each light's part of it; twin of Tile::measure_error in
// src/trace/film.rs.

const TILE: u32 = 16u;
const STREAMS: f32 = 4.0;
const MOST_LIGHTS: u32 = 72u;
const MOST_TILES: u32 = 2048u;
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
// 1/samples of each stream, by tile and light
@group(0) @binding(2) var<storage, read> weights: array<f32>;
// of the mix, then of each light alone, by tile
@group(0) @binding(3) var<storage, read_write> errors: array<f32>;
// luminance of what lies under the picture already, by tile and pixel
@group(0) @binding(4) var<storage, read> base: array<f32>;

var<workgroup> sums: array<vec2f, 64>;

fn deviation(streams: vec4f) -> f32 {
    let off = streams - dot(streams, vec4f(1.0 / STREAMS));
    return sqrt(dot(off, off) / (STREAMS * (STREAMS - 1.0)));
}

@compute @workgroup_size(64)
fn judge_tiles(@builtin(workgroup_id) group: vec3u, @builtin(local_invocation_index) lane: u32) {
    let slot = judge.tiles[group.x / 4u][group.x % 4u] & 0xffffu;
    let lights = judge.light_count;
    let across = (judge.size.x + TILE - 1u) / TILE;
    let tile = judge.first_tile + slot;
    let corner = TILE * vec2u(tile % across, tile / across);
    // 0 is the mix
    for (var part = 0u; part <= lights; part += 1u) {
        var sum = vec2f(0.0);
        for (var k = lane; k < TILE * TILE; k += 64u) {
            let pixel = corner + vec2u(k % TILE, k / TILE);
            if pixel.x < judge.size.x && pixel.y < judge.size.y {
                var mixed = vec4f(0.0);
                var own = vec4f(0.0);
                for (var light = 0u; light < lights; light += 1u) {
                    let at = (slot * lights + light) * TILE * TILE + k;
                    let value = judge.factors[light].x * weights[slot * lights + light] * spreads[at];
                    mixed += value;
                    if light + 1u == part {
                        own = value;
                    }
                }
                let under = base[slot * TILE * TILE + k];
                let level = max(dot(mixed, vec4f(1.0 / STREAMS)) + under, DARK_FLOOR);
                if part == 0u {
                    own = mixed;
                }
                sum += vec2f(deviation(own) / level, 1.0);
            }
        }
        sums[lane] = sum;
        workgroupBarrier();
        for (var half = 32u; half > 0u; half /= 2u) {
            if lane < half {
                sums[lane] += sums[lane + half];
            }
            workgroupBarrier();
        }
        if lane == 0u {
            errors[slot * (lights + 1u) + part] = sums[0].x / (sums[0].y * DEVIATION_BIAS) * LOG2_E;
        }
        workgroupBarrier();
    }
}
