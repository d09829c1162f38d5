// Runs shared functions over a grid: four vec4f in, four out.

@group(1) @binding(0) var<storage, read> given: array<array<vec4f, 4>>;
@group(1) @binding(1) var<storage, read_write> answer: array<array<vec4f, 4>>;

@compute @workgroup_size(64)
fn sampling(@builtin(global_invocation_id) id: vec3u) {
    let i = id.x;
    if i >= arrayLength(&given) { return; }
    let word = bitcast<vec4u>(given[i][0]);
    let stream = sampler_new(word.x, word.y, word.z);
    answer[i][0] = vec4f(sample_pair(stream, word.w), sample_single(stream, word.w), 0.0);
}

@compute @workgroup_size(64)
fn color(@builtin(global_invocation_id) id: vec3u) {
    let i = id.x;
    if i >= arrayLength(&given) { return; }
    let x = given[i][0];
    answer[i][0] = vec4f(srgb_encode(x.x), srgb_decode(x.x), luminance(x.xyz), 0.0);
}

@compute @workgroup_size(64)
fn scattering(@builtin(global_invocation_id) id: vec3u) {
    let i = id.x;
    if i >= arrayLength(&given) { return; }
    let s = surfaces[bitcast<u32>(given[i][0].w)];
    let reflectance = given[i][3].xyz;
    let wo = given[i][0].xyz;
    let found = surface_scatter(s, reflectance, wo, given[i][1].xyz);
    answer[i][0] = vec4f(found.f, found.pdf);
    answer[i][1] = vec4f(surface_sample(s, reflectance, wo, given[i][2].xyz), found.reverse);
}

// `given`: light's first film, count and u of the point; direction; u of an emitted ray
@compute @workgroup_size(64)
fn fronts(@builtin(global_invocation_id) id: vec3u) {
    let i = id.x;
    if i >= arrayLength(&given) { return; }
    let first = bitcast<u32>(given[i][0].x);
    let count = bitcast<u32>(given[i][0].y);
    let point = front_point(first, count, given[i][0].zw);
    let direction = given[i][1].xyz;
    answer[i][0] = vec4f(point.position, front_radiance(point, direction));
    answer[i][1] = vec4f(point.normal, front_direction_pdf(point, direction));
    let left = front_emit(first, count, given[i][0].zw, given[i][2].xy);
    answer[i][2] = vec4f(left.direction, left.flux);
    // a ray back at the point from half a metre along the direction
    let met = film_crossing(point.film, point.position + 0.5 * direction, -direction, 10.0);
    answer[i][3] = vec4f(left.pdf, front_area_pdf(point), met.w, dot(met.xyz, direction));
}
