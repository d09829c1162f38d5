// What some samples of one light bring to the surfaces that the lens sees.
//
//   x   a point that the lens sees, nₓ its normal, f its scattering
//   y   a sample of the light: a point of its front, or a place where it lands
//   ω   unit direction x → y, d its length, r² the sample's own footprint over π
//   V   visibility: shadow map beyond a short stretch of the ray, triangles within
//
//   front    f · L(y, −ω) · max(ω·nₓ, 0) · cos θy · k(d) · V · weight
//   landing  f · Φ · f_y(−ω) · max(ω·nₓ, 0) · cos θy · k(d) · V · weight
//
// with k(d) = 1/√(d⁴ + r⁴) for 1/d²: nearer than r a single point would be a spike. What that
// leaves out, 1 − d² k(d) of the light that comes from close by, is gathered along a ray of 2.5 r
// drawn about nₓ (after Kollig & Keller 2004, 'Illumination in the Presence of Weak
// Singularities'), and so on from where it lands: no light is lost in a crease.

struct Sample {
    position: vec3f,
    // FRONT or LANDING
    kind: u32,
    normal: vec3f,
    // front: its film; landing: its surface
    which: u32,
    shading: vec3f,
    weight: f32,
    // where the light came from
    outgoing: vec3f,
    // r⁴
    soft: f32,
    flux: vec3f,
    first_face: u32,
    reflectance: vec3f,
    faces: u32,
}

const FRONT: u32 = 0u;
const LANDING: u32 = 1u;
const MOST_SAMPLES: u32 = 12u;
const MOST_FACES: u32 = 40u;

struct Round {
    samples: array<Sample, MOST_SAMPLES>,
    faces: array<Face, MOST_FACES>,
    count: u32,
    // the light's fronts, for what the lens sees of them
    first_film: u32,
    films: u32,
    // whether depth is summed too
    sums_depth: u32,
    roots: vec2u,
    // of this round among its light's
    number: u32,
    seed: u32,
    // r⁴ of landing points and of fronts
    landing_soft: f32,
    front_soft: f32,
    // weight of what close fronts bring
    front_weight: f32,
    // length of a close ray, metres
    close: f32,
}

@group(1) @binding(2) var<uniform> view: View;
@group(1) @binding(3) var<uniform> round: Round;
@group(1) @binding(4) var attributes: texture_2d<u32>;
@group(1) @binding(5) var depths: texture_depth_2d;
@group(1) @binding(6) var front_maps: texture_depth_2d_array;
@group(1) @binding(7) var landing_maps: texture_depth_2d_array;

// Σ value, Σ Y² of rounds
@group(2) @binding(0) var<storage, read_write> sums: array<vec4f>;
@group(2) @binding(1) var<storage, read_write> distances: array<f32>;

fn local(frame: Basis, n: vec3f, d: vec3f) -> vec3f {
    return vec3f(dot(d, frame.t), dot(d, frame.b), dot(d, n));
}

fn blocked(origin: vec3f, way: vec3f, reach: f32) -> bool {
    return along(round.roots.x, origin, way, reach, true).distance < FAR
        || along(round.roots.y, origin, way, reach, true).distance < FAR;
}

// Depth of a face's map, near/distance, at tangents over its bounds.
fn stored_at(face: Face, at: vec2f) -> f32 {
    let place = vec2i(vec2f(0.5 + 0.5 * at.x, 0.5 - 0.5 * at.y) * face.map_size);
    let texel = clamp(place, vec2i(0), vec2i(i32(face.map_size) - 1));
    if face.coarse == 0u {
        return textureLoad(front_maps, texel, i32(face.layer), 0);
    }
    return textureLoad(landing_maps, texel, i32(face.layer), 0);
}

// Whether something in the map stands before the plane through a point by more than `height`
// (along the face's axis), in the four texels about it.
fn stands_near(face: Face, here: vec3f, normal: vec3f, height: f32) -> bool {
    let n = vec3f(dot(normal, face.right), dot(normal, face.up), dot(normal, face.forward));
    let lean = dot(n, here);
    let at = here.xy / here.z;
    for (var i = 0u; i < 4u; i += 1u) {
        let corner = vec2f(f32(i & 1u), f32(i >> 1u)) - 0.5;
        let tangent = at + corner * face.texel;
        // distance of the plane along that direction
        let plane = lean / min(dot(n, vec3f(tangent, 1.0)), -1e-6);
        let stored = stored_at(face, (tangent - face.bounds.xy) / face.bounds.zw);
        if stored * (plane - height) > face.near {
            return true;
        }
    }
    return false;
}

// Whether light from a sample reaches a point lifted off its surface.
fn visible(
    s: Sample, origin: vec3f, normal: vec3f, way: vec3f, distance: f32, cos_x: f32,
) -> bool {
    let slope = 1.0 / max(cos_x, 0.08);
    for (var i = 0u; i < s.faces; i += 1u) {
        let face = round.faces[s.first_face + i];
        let here = face_local(face, origin);
        if here.z <= face.near {
            continue;
        }
        // the stretch that the map is not asked about: a texel here, and what its meshes may be off
        let thick = 1.5 * face.texel * here.z + face.deviation;
        let reach = min(thick * slope, 0.7 * distance);
        let p = face_local(face, origin + way * reach);
        let at = (p.xy / p.z - face.bounds.xy) / face.bounds.zw;
        if p.z <= face.near || any(abs(at) >= vec2f(1.0)) {
            continue;
        }
        // near/distance: greater is nearer to the light
        if stored_at(face, at) * p.z > face.near {
            return false;
        }
        // one landing point of many: followed only where its map shows something near
        if s.kind == LANDING && !stands_near(face, here, normal, thick) {
            return true;
        }
        // twice as far: a slanted caster just beyond may lie behind p in its texel's middle
        return !blocked(origin, way, min(2.0 * reach, distance - 2e-3));
    }
    // beyond what the maps were fitted to
    return !blocked(origin, way, distance - 2e-3);
}

@compute @workgroup_size(8, 8)
fn shade(@builtin(global_invocation_id) id: vec3u) {
    if any(id.xy >= view.size) {
        return;
    }
    let pixel = id.y * view.size.x + id.x;
    let film = (vec2f(id.xy) + view.jitter) / vec2f(view.size) * 2.0 - 1.0;
    let across = film.x * view.half.x - view.shear_x;
    let upward = -film.y * view.half.y - view.shear_y;
    let ray = view.forward + view.right * across + view.up * upward;
    let depth = textureLoad(depths, id.xy, 0);
    let z = select(FAR, view.near / depth, depth > 0.0);
    let ray_length = length(ray);
    let toward = ray / ray_length;

    var found = vec3f(0.0);
    for (var i = 0u; i < round.films; i += 1u) {
        let index = round.first_film + i;
        let crossing = film_crossing(index, view.origin, toward, z * ray_length);
        if crossing.w < FAR {
            let point = FrontPoint(view.origin + toward * crossing.w, crossing.xyz, index);
            found += vec3f(front_radiance(point, -toward));
        }
    }
    if depth > 0.0 {
        found += seen(id.xy, pixel, view.origin + ray * z, -toward);
        if round.sums_depth == 1u {
            distances[pixel] += z;
        }
    }
    let level = luminance(found);
    sums[pixel] += vec4f(found, level * level);
}

// A point that light leaves, with what is needed to say how much.
struct Place {
    position: vec3f,
    geometric: vec3f,
    shading: vec3f,
    // unit, to where the light goes
    outgoing: vec3f,
    reflectance: vec3f,
    surface: u32,
}

// Close bounces followed at most: each is a share of what the last one brought.
const CLOSE_BOUNCES: u32 = 2u;

fn seen(texel: vec2u, pixel: u32, x: vec3f, to_lens: vec3f) -> vec3f {
    let packed = textureLoad(attributes, texel, 0);
    let tint = vec3f(vec3u(packed.z & 2047u, (packed.z >> 11u) & 2047u, packed.z >> 22u))
        / vec3f(1023.5, 1023.5, 511.5);
    var place = Place(
        x,
        unpack_normal(packed.x),
        unpack_normal(packed.y),
        to_lens,
        surfaces[packed.w - 1u].reflectance * tint,
        packed.w - 1u,
    );
    let random = sampler_new(round.number, pixel, round.seed);
    var throughput = vec3f(1.0);
    var sum = vec3f(0.0);
    for (var bounce = 0u; bounce <= CLOSE_BOUNCES; bounce += 1u) {
        sum += throughput * gather(place);
        if bounce == CLOSE_BOUNCES || round.close <= 0.0 {
            break;
        }
        let frame = basis(place.shading);
        let u = sample_pair(random, bounce);
        let wi = cosine_hemisphere(u.x, u.y);
        let way = normalize(frame.t * wi.x + frame.b * wi.y + place.shading * wi.z);
        if dot(way, place.geometric) <= 0.0 {
            break;
        }
        let wo = local(frame, place.shading, place.outgoing);
        // density cos/π
        throughput *= PI * surface_scatter(surfaces[place.surface], place.reflectance, wo, wi).f;
        let origin = place.position + place.geometric * 4e-5;
        var near = along(round.roots.x, origin, way, round.close, false);
        let fixture = along(round.roots.y, origin, way, min(near.distance, round.close), false);
        if fixture.distance < near.distance {
            near = fixture;
        }
        if round.front_weight > 0.0 {
            for (var i = 0u; i < round.films; i += 1u) {
                let index = round.first_film + i;
                let crossing = film_crossing(index, origin, way, min(near.distance, round.close));
                if crossing.w < FAR {
                    let point = FrontPoint(origin + way * crossing.w, crossing.xyz, index);
                    sum += throughput * front_radiance(point, -way) * round.front_weight
                        * left_out(crossing.w, round.front_soft);
                }
            }
        }
        if near.distance >= FAR {
            break;
        }
        throughput *= left_out(near.distance, round.landing_soft);
        let facet = facets[near.facet];
        var normal = normalize(cross(facet.edge, facet.other));
        normal = select(normal, -normal, dot(normal, way) > 0.0);
        let reflectance = surfaces[facet.surface].reflectance;
        place = Place(origin + way * near.distance, normal, normal, -way, reflectance, facet.surface);
    }
    return sum;
}

// 1 − d² k(d)
fn left_out(distance: f32, soft: f32) -> f32 {
    let d2 = distance * distance;
    return 1.0 - d2 / sqrt(d2 * d2 + soft);
}

// What the samples of the round bring to a place, sent on toward where its light goes.
fn gather(place: Place) -> vec3f {
    let frame = basis(place.shading);
    let surface = surfaces[place.surface];
    let wo = local(frame, place.shading, place.outgoing);
    let origin = place.position + place.geometric * 4e-5;
    var sum = vec3f(0.0);
    for (var i = 0u; i < round.count; i += 1u) {
        let s = round.samples[i];
        let span = s.position - place.position;
        let distance2 = dot(span, span);
        if distance2 < 1e-10 {
            continue;
        }
        let distance = sqrt(distance2);
        let way = span / distance;
        let cos_x = dot(way, place.geometric);
        let cos_y = -dot(way, s.normal);
        if cos_x <= 0.0 || cos_y <= 1e-4 {
            continue;
        }
        let wi = local(frame, place.shading, way);
        var value = surface_scatter(surface, place.reflectance, wo, wi).f * max(wi.z, 0.0);
        if s.kind == FRONT {
            value *= front_radiance(FrontPoint(s.position, s.normal, s.which), -way);
        } else {
            let theirs = basis(s.shading);
            let thrower = surfaces[s.which];
            value *= s.flux * surface_scatter(
                thrower,
                s.reflectance,
                local(theirs, s.shading, s.outgoing),
                local(theirs, s.shading, -way),
            ).f;
        }
        value *= cos_y / sqrt(distance2 * distance2 + s.soft) * s.weight;
        if max_element(value) > 0.0 && visible(s, origin, place.geometric, way, distance, cos_x) {
            sum += value;
        }
    }
    return sum;
}
