// One more sample of some tiles: a path from the lens, joined to every light; twin of
// src/trace/estimate.rs, with the same numbers in the same places.

const TILE: u32 = 16u;
const STREAMS: u32 = 4u;
const MAX_VERTICES: u32 = 24u;
const CAMERA_DIMENSIONS: u32 = 2u;
const POOL_SHARE: f32 = 8.0;
const MEMBERS: u32 = 8192u;
const BLOCK: u32 = 32u;
const MOST_LIGHTS: u32 = 72u;
const MOST_TILES: u32 = 2048u;

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
    // first film, films, blocks of the pool
    lights: array<vec4u, MOST_LIGHTS>,
    // tile within the slab, and 16 bits up: paths that its stream has; then the lights that are
    // wanted, a bit each
    tiles: array<vec4u, MOST_TILES>,
}

// By light: of each member position and power, then packed normal and dvcm, 2 words of four;
// after all of them of each flux and surface, reflectance and dvc, packed shading normal and
// outgoing direction, 3 words. dvcm and dvc are partial sums of the weights.
@group(1) @binding(3) var<storage, read> pools: array<vec4f>;
@group(2) @binding(0) var<uniform> todo: Step;
// Σ value and Σ depth, by tile, light, pixel.
@group(2) @binding(1) var<storage, read_write> values: array<vec4f>;
// Σ luminance of each stream, likewise.
@group(2) @binding(2) var<storage, read_write> spreads: array<vec4f>;

// Where the pixel's sums of light 0 are; a tile's further lights follow.
var<private> sums_at: u32;
// The lights that this tile's paths look at.
var<private> wanted: vec3u;

fn is_wanted(light: u32) -> bool {
    return ((wanted[light / 32u] >> (light % 32u)) & 1u) == 1u;
}

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

// What a member of the pool promises to bring to a vertex, up to a constant; twin of
// Block::promises in src/trace/light_paths.rs.
fn promise(v: Vertex, go_on: f32, member: u32) -> f32 {
    let head = pools[member];
    let span = head.xyz - v.position;
    let inverse = 1.0 / (dot(span, span) + 1e-9);
    let direction = span * sqrt(inverse);
    let near = max(dot(direction, v.shading), 0.0);
    let rest = pools[member + 1u];
    let far = max(-dot(direction, unpack_normal(bitcast<u32>(rest.x))), 0.0);
    let joined = near * far * inverse;
    return head.w * joined / (1.0 + squared(joined * go_on) * rest.y);
}

// A member of one block, drawn in proportion to its promise: its number, and the inverse of its
// share; 0 if none promises anything.
struct Drawn {
    member: u32,
    weight: f32,
}

fn draw_member(light: u32, v: Vertex, go_on: f32, u: vec2f) -> Drawn {
    let blocks = todo.lights[light].z;
    if blocks == 0u {
        return Drawn(0u, 0.0);
    }
    let block = BLOCK * min(u32(u.x * f32(blocks)), blocks - 1u);
    let first = 5u * MEMBERS * light + 2u * block;
    var total = 0.0;
    for (var k = 0u; k < BLOCK; k += 1u) {
        total += promise(v, go_on, first + 2u * k);
    }
    if total <= 0.0 {
        return Drawn(0u, 0.0);
    }
    var rest = u.y * total;
    var chosen = 0u;
    var own = 1.0;
    for (var k = 0u; k < BLOCK; k += 1u) {
        let next = promise(v, go_on, first + 2u * k);
        if next > 0.0 {
            chosen = k;
            own = next;
            rest -= next;
            if rest < 0.0 {
                break;
            }
        }
    }
    return Drawn(block + chosen, total / own * f32(blocks));
}

// s = 1 and s ≥ 2: the vertex joined to a point of the light's front, and to a place where its
// light lands.
fn join(light: u32, v: Vertex, throughput: vec3f, partial: Partial, stream: Sampler, lane: u32) {
    let trust = camera_trust(v);
    let front =
        front_point(todo.lights[light].x, todo.lights[light].y, sample_pair(stream, lane));
    let pair = sample_pair(stream, lane + todo.light_count);
    let drawn = draw_member(light, v, trust * FRAC_1_PI, pair);
    let member = 5u * MEMBERS * light + 2u * drawn.member;
    let landed = 5u * MEMBERS * light + 2u * MEMBERS + 3u * drawn.member;
    // the front, then the member
    for (var k = 0u; k < 2u; k += 1u) {
        var place = front.position;
        var normal = front.normal;
        if k == 1u {
            if drawn.weight == 0.0 {
                return;
            }
            place = pools[member].xyz;
            normal = unpack_normal(bitcast<u32>(pools[member + 1u].x));
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
        let behind = partial.dvcm + partial.dvc * squared(here.reverse * light_share(v));
        var value = vec3f(0.0);
        if k == 0u {
            let radiance = front_radiance(front, -direction);
            if radiance > 0.0 {
                // density of this technique per steradian at the vertex
                let direct_pdf = front_area_pdf(front) * distance2 / cos_there;
                let through = squared(here.pdf * trust / direct_pdf);
                let landing = front_direction_pdf(front, -direction) * cos_here / distance2;
                let others = through + squared(POOL_SHARE * landing) * behind;
                value = weight * (radiance / (direct_pdf * (1.0 + others)));
            }
        } else {
            let flux = pools[landed];
            let reflectance = pools[landed + 1u];
            let turned = pools[landed + 2u];
            let source = Vertex(
                place,
                bitcast<u32>(flux.w),
                normal,
                unpack_normal(bitcast<u32>(turned.x)),
                unpack_normal(bitcast<u32>(turned.y)),
                reflectance.xyz,
            );
            let there = vertex_scatter(source, -direction);
            let to_landed = here.pdf * trust * cos_there / distance2;
            let before = pools[member + 1u].y
                + reflectance.w * squared(there.reverse * camera_trust(source));
            let to_vertex = there.pdf * light_share(source) * cos_here / distance2;
            let others = squared(to_landed) * before + squared(to_vertex) * behind;
            value = weight * there.f * flux.xyz
                * (cos_there / (distance2 * (1.0 + others)) * drawn.weight / todo.paths);
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
            if is_wanted(light) {
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
        for (var light = 0u; light < lights; light += 1u) {
            if is_wanted(light) {
                join(light, v, throughput, partial, stream, dimension + 3u + light);
            }
        }
        let go_on = camera_share(v);
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
        let trusted = CAMERA_TRUST * pdf;
        let behind = partial.dvc * squared(scattered.reverse * light_share(v)) + partial.dvcm;
        partial = Partial(squared(1.0 / trusted), squared(cos_out / trusted) * behind);
        origin = v.position + v.geometric * LIFT;
        direction = next;
    }
}

// Four groups of 8 × 8 pixels a tile.
@compute @workgroup_size(8, 8)
fn sample_tiles(@builtin(workgroup_id) group: vec3u, @builtin(local_invocation_id) local: vec3u) {
    let listed = group.x / 4u;
    let entry = todo.tiles[listed];
    wanted = entry.yzw;
    let slot = entry.x & 0xffffu;
    let across = (todo.size.x + TILE - 1u) / TILE;
    let tile = todo.first_tile + slot;
    let inside = local.xy + 8u * vec2u(group.x & 1u, (group.x >> 1u) & 1u);
    let pixel = TILE * vec2u(tile % across, tile / across) + inside;
    if pixel.x >= todo.size.x || pixel.y >= todo.size.y {
        return;
    }
    sums_at = slot * todo.light_count * TILE * TILE + inside.y * TILE + inside.x;
    sample_pixel(pixel.x, pixel.y, entry.x >> 16u);
}
