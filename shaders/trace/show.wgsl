// Tiles of one light as the picture shows them: the path tracer's mean, faded in over the
// rasteriser's by how far each may be trusted.

const TILE: u32 = 16u;

struct Show {
    size: vec2u,
    first_tile: u32,
    light_count: u32,
    light: u32,
    // 1/rounds of the rasteriser; 0 without
    raster_weight: f32,
    // tiles of the slab
    tile_count: u32,
}

@group(0) @binding(0) var<uniform> show: Show;
// Σ by tile, light, pixel
@group(0) @binding(1) var<storage, read> values: array<vec4f>;
// 1/samples of each of four streams, by tile and light
@group(0) @binding(2) var<storage, read> weights: array<f32>;
// share of the path tracer by tile of the whole picture, for this light
@group(0) @binding(3) var<storage, read> shares: array<f32>;
// the rasteriser's sums, row by row
@group(0) @binding(4) var<storage, read> first_look: array<vec4f>;
@group(0) @binding(5) var<storage, read_write> shown: array<vec4f>;

// Between tiles' middles, so that no edge shows; never more than the pixel's own tile has.
fn share_at(pixel: vec2u, own: f32) -> f32 {
    let across = (show.size.x + TILE - 1u) / TILE;
    let down = (show.size.y + TILE - 1u) / TILE;
    let p = max((vec2f(pixel) + 0.5) / f32(TILE) - 0.5, vec2f(0.0));
    let low = min(vec2u(p), vec2u(across - 1u, down - 1u));
    let high = min(low + 1u, vec2u(across - 1u, down - 1u));
    let t = p - vec2f(low);
    let top = mix(shares[low.y * across + low.x], shares[low.y * across + high.x], t.x);
    let bottom = mix(shares[high.y * across + low.x], shares[high.y * across + high.x], t.x);
    return select(mix(top, bottom, t.y), 0.0, own == 0.0);
}

@compute @workgroup_size(64)
fn show_tiles(@builtin(workgroup_id) group: vec3u, @builtin(local_invocation_index) lane: u32) {
    let slot = group.x;
    let across = (show.size.x + TILE - 1u) / TILE;
    let tile = show.first_tile + slot;
    let corner = TILE * vec2u(tile % across, tile / across);
    let weight = weights[slot * show.light_count + show.light];
    for (var k = lane; k < TILE * TILE; k += 64u) {
        let pixel = corner + vec2u(k % TILE, k / TILE);
        if pixel.x < show.size.x && pixel.y < show.size.y {
            let at = pixel.y * show.size.x + pixel.x;
            let traced = values[(slot * show.light_count + show.light) * TILE * TILE + k].xyz * (0.25 * weight);
            var color = traced;
            if show.raster_weight > 0.0 {
                let share = select(share_at(pixel, shares[tile]), 0.0, weight == 0.0);
                color = mix(first_look[at].xyz * show.raster_weight, traced, share);
            }
            shown[at] = vec4f(color, 1.0);
        }
    }
}
