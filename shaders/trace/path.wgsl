// One more sample of some tiles: a path from the lens, joined to every light; twin of
// src/trace/estimate.rs, with the same numbers in the same places.

const TILE: u32 = 16u;
const STREAMS: u32 = 4u;
const MAX_VERTICES: u32 = 24u;
const CANDIDATES: u32 = 8u;
const LATER_CANDIDATES: u32 = 2u;
const CAMERA_DIMENSIONS: u32 = 2u;
const POOL_SHARE: f32 = 8.0;
const MEMBERS: u32 = 8192u;
const MOST_LIGHTS: u32 = 72u;
const MOST_TILES: u32 = 4096u;

struct Step {
    position: vec3f,
    pupil_radius: f32,
    right: vec3f,
    half_width: f32,
    up: vec3f,
    half_height: f32,
    forward: vec3f,
    focus: f32,
    size: vec2u,
    seed: u32,
    stream: u32,
    // first tile of the slab, number of lights, sub-paths that a pool stands for
    first_tile: u32,
    light_count: u32,
    paths: f32,
    // tiles in the list
    tile_count: u32,
    // first film, films, members of the pool, 1 where the light is wanted
    lights: array<vec4u, MOST_LIGHTS>,
    // tile within the slab, and 16 bits up: samples that each of its streams has
    tiles: array<vec4u, MOST_TILES / 4u>,
}

// A place where light of one head lands; directions are packed.
struct Landed {
    position: vec3f,
    surface: u32,
    geometric: u32,
    shading: u32,
    outgoing: u32,
    // partial sums of the weights: of its own connection, of the vertices before it
    dvcm: f32,
    reflectance: vec3f,
    dvc: f32,
    flux: vec3f,
}

@group(1) @binding(3) var<storage, read> pools: array<Landed>;
@group(2) @binding(0) var<uniform> todo: Step;
// Σ value and Σ depth, by tile, light, pixel.
@group(2) @binding(1) var<storage, read_write> values: array<vec4f>;
// Σ luminance of each stream, likewise.
@group(2) @binding(2) var<storage, read_write> spreads: array<vec4f>;

// Where the pixel's sums of light 0 are; a tile's further lights follow.
var<private> sums_at: u32;

fn add(light: u32, value: vec3f) {
    if max_element(value) > 0.0 {
        let at = sums_at + light * TILE * TILE;
        values[at] += vec4f(value, 0.0);
        spreads[at][todo.stream] += luminance(value);
    }
}

struct Partial {
    dvcm: f32,
    dvc: f32,
}

// s = 0: the path's own ray runs through fronts.
fn cross_fronts(light: u32, origin: vec3f, direction: vec3f, reach: f32, partial: Partial) -> f32 {
    var sum = 0.0;
    let first = todo.lights[light].x;
    for (var film = first; film < first + todo.lights[light].y; film += 1u) {
        let met = film_crossing(film, origin, direction, reach);
        if met.w >= reach || met.w >= FAR {
            continue;
        }
        let point = FrontPoint(origin + direction * met.w, met.xyz, film);
        let radiance = front_radiance(point, -direction);
        let cosine = -dot(direction, point.normal);
        if radiance <= 0.0 || cosine <= 0.0 {
            continue;
        }
        let dvcm = partial.dvcm * squared(met.w * met.w / cosine);
        let dvc = partial.dvc / squared(cosine);
        let area_pdf = front_area_pdf(point);
        let landing = POOL_SHARE * area_pdf * front_direction_pdf(point, -direction);
        sum += radiance / (1.0 + squared(area_pdf) * dvcm + squared(landing) * dvc);
    }
    return sum;
}

fn landed_vertex(index: u32) -> Vertex {
    return Vertex(
        pools[index].position,
        pools[index].surface,
        unpack_normal(pools[index].geometric),
        unpack_normal(pools[index].shading),
        unpack_normal(pools[index].outgoing),
        pools[index].reflectance,
    );
}

// s = 1 and s ≥ 2: the vertex joined to a point of the light's front, and to one of several places
// where its light lands.
fn join(
    light: u32, v: Vertex, throughput: vec3f, partial: Partial, sampler_here: Sampler, lane: u32,
    candidates: u32,
) {
    let members = todo.lights[light].z;
    let weighed = select(0u, candidates, members > 0u);
    let u = sample_pair(sampler_here, lane + todo.light_count);
    let stride = f32(members) / f32(candidates);
    let share = vertex_share(v);

    var front_value = vec3f(0.0);
    var front: FrontPoint;
    var levels: array<f32, CANDIDATES>;
    var colors: array<vec3f, CANDIDATES>;
    var total = 0.0;
    // 0 is the front, the others are members of the pool
    for (var k = 0u; k <= weighed; k += 1u) {
        var place: vec3f;
        var normal: vec3f;
        var source: Vertex;
        var index = 0u;
        if k == 0u {
            front = front_point(todo.lights[light].x, todo.lights[light].y, sample_pair(sampler_here, lane));
            place = front.position;
            normal = front.normal;
        } else {
            index = light * MEMBERS + min(u32((f32(k - 1u) + u.x) * stride), members - 1u);
            source = landed_vertex(index);
            place = source.position;
            normal = source.geometric;
            levels[k - 1u] = 0.0;
        }
        let span = place - v.position;
        let distance2 = dot(span, span);
        if distance2 < select(1e-10, 1e-12, k == 0u) {
            continue;
        }
        let direction = span * inverseSqrt(distance2);
        let cos_there = -dot(direction, normal);
        if cos_there <= select(0.0, 1e-4, k == 0u) {
            continue;
        }
        let here = vertex_scatter(v, direction);
        let weight = here.f * max(dot(direction, v.shading), 0.0);
        if max_element(weight) <= 0.0 {
            continue;
        }
        let cos_here = max(dot(direction, v.geometric), 0.0);
        let behind = partial.dvcm + partial.dvc * squared(here.reverse * share);
        if k == 0u {
            let radiance = front_radiance(front, -direction);
            if radiance > 0.0 {
                // density of this technique per steradian at the vertex
                let direct_pdf = front_area_pdf(front) * distance2 / cos_there;
                let through = squared(here.pdf * share / direct_pdf);
                let landing = front_direction_pdf(front, -direction) * cos_here / distance2;
                let others = through + squared(POOL_SHARE * landing) * behind;
                front_value = weight * (radiance / (direct_pdf * (1.0 + others)));
            }
        } else {
            let there = vertex_scatter(source, -direction);
            if max_element(there.f) > 0.0 {
                let source_share = vertex_share(source);
                let to_landed = here.pdf * share * cos_there / distance2;
                let before = pools[index].dvcm + pools[index].dvc * squared(there.reverse * source_share);
                let to_vertex = there.pdf * source_share * cos_here / distance2;
                let others = squared(to_landed) * before + squared(to_vertex) * behind;
                let value = weight * there.f * pools[index].flux * (cos_there / (distance2 * (1.0 + others)));
                let level = max_element(value);
                if level > 0.0 {
                    levels[k - 1u] = level;
                    colors[k - 1u] = value / level;
                    total += level;
                }
            }
        }
    }

    // one member is kept in proportion
    var pool_value = vec3f(0.0);
    var chosen = 0u;
    if total > 0.0 {
        var rest = u.y * total;
        for (var k = 0u; k < weighed; k += 1u) {
            if levels[k] > 0.0 {
                chosen = k;
                rest -= levels[k];
                if rest < 0.0 {
                    break;
                }
            }
        }
        pool_value = colors[chosen] * (total * f32(members) / (f32(candidates) * todo.paths));
    }
    for (var k = 0u; k < 2u; k += 1u) {
        var value = front_value;
        var place = front.position;
        var normal = front.normal;
        if k == 1u {
            let index = light * MEMBERS + min(u32((f32(chosen) + u.x) * stride), max(members, 1u) - 1u);
            value = pool_value;
            place = pools[index].position;
            normal = unpack_normal(pools[index].geometric);
        }
        if max_element(value) > 0.0 && is_visible(v.position, v.geometric, place, normal) {
            add(light, throughput * value);
        }
    }
}

fn sample_pixel(x: u32, y: u32, index: u32) {
    let stream = sampler_new(index, y * todo.size.x + x, todo.seed * STREAMS + todo.stream);
    let film = (vec2f(f32(x), f32(y)) + sample_pair(stream, 0u)) / vec2f(todo.size);
    let across = (2.0 * film.x - 1.0) * todo.half_width;
    let upward = (1.0 - 2.0 * film.y) * todo.half_height;
    let goal = todo.position + (todo.forward + todo.right * across + todo.up * upward) * todo.focus;
    let lens = sample_pair(stream, 1u);
    let r = todo.pupil_radius * sqrt(lens.x);
    var origin = todo.position + todo.right * (r * cos(TAU * lens.y)) + todo.up * (r * sin(TAU * lens.y));
    var direction = normalize(goal - origin);

    var throughput = vec3f(1.0);
    var partial = Partial(0.0, 0.0);
    let lights = todo.light_count;
    for (var depth = 0u; depth <= MAX_VERTICES; depth += 1u) {
        let hit = traverse(origin, direction, FAR, false);
        for (var light = 0u; light < lights; light += 1u) {
            if todo.lights[light].w != 0u {
                add(light, throughput * cross_fronts(light, origin, direction, hit.distance, partial));
            }
        }
        if hit.triangle == NOTHING || depth == MAX_VERTICES {
            return;
        }
        let v = vertex_at(hit, origin, direction);
        if depth == 0u {
            values[sums_at].w += hit.distance * dot(direction, todo.forward);
        } else {
            let cosine = dot(v.geometric, -direction);
            if cosine <= 1e-6 {
                return;
            }
            partial.dvcm *= squared(hit.distance * hit.distance / cosine);
            partial.dvc /= squared(cosine);
        }
        let dimension = CAMERA_DIMENSIONS + depth * (3u + 2u * lights);
        let candidates = select(LATER_CANDIDATES, CANDIDATES, depth == 0u);
        for (var light = 0u; light < lights; light += 1u) {
            if todo.lights[light].w != 0u {
                join(light, v, throughput, partial, stream, dimension + 3u + light, candidates);
            }
        }
        let go_on = vertex_share(v);
        if sample_single(stream, dimension) >= go_on {
            return;
        }
        let u = sample_pair(stream, dimension + 1u);
        let next = vertex_draw(v, vec3f(sample_single(stream, dimension + 2u), u));
        if all(next == vec3f(0.0)) {
            return;
        }
        let scattered = vertex_scatter(v, next);
        let pdf = scattered.pdf * go_on;
        if pdf <= 0.0 {
            return;
        }
        throughput *= scattered.f * (max(dot(next, v.shading), 0.0) / pdf);
        if max_element(throughput) <= 0.0 {
            return;
        }
        let cos_out = max(dot(next, v.geometric), 0.0);
        partial = Partial(
            squared(1.0 / pdf),
            squared(cos_out / pdf) * (partial.dvc * squared(scattered.reverse * go_on) + partial.dvcm),
        );
        origin = v.position + v.geometric * LIFT;
        direction = next;
    }
}

// Four groups of 8 × 8 pixels a tile.
@compute @workgroup_size(8, 8)
fn sample_tiles(@builtin(workgroup_id) group: vec3u, @builtin(local_invocation_id) local: vec3u) {
    let listed = group.x / 4u;
    let entry = todo.tiles[listed / 4u][listed % 4u];
    let slot = entry & 0xffffu;
    let across = (todo.size.x + TILE - 1u) / TILE;
    let tile = todo.first_tile + slot;
    let inside = local.xy + 8u * vec2u(group.x & 1u, (group.x >> 1u) & 1u);
    let pixel = TILE * vec2u(tile % across, tile / across) + inside;
    if pixel.x >= todo.size.x || pixel.y >= todo.size.y {
        return;
    }
    sums_at = slot * todo.light_count * TILE * TILE + inside.y * TILE + inside.x;
    sample_pixel(pixel.x, pixel.y, entry >> 16u);
}
