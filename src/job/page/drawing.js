"use strict";
// Draws closed meshes with WebGL2: cut across z with a hatched face, their thickness
// as colour, components as glass. Knows nothing of the page around it.
const drawing = (gl) => {
  // ---- programs -------------------------------------------------------------
  const COMMON = `#version 300 es
    precision highp float;`;
  const VERTEX = COMMON + `
    in vec3 p; in float t;
    uniform mat3 turn; uniform vec3 middle, shift; uniform vec2 scale; uniform float depth, nearer, dot_px;
    out vec3 at, seen; out float thick;
    void main() {
      at = p; thick = t;
      seen = turn * (p + shift - middle);
      gl_Position = vec4(seen.xy * scale, -(seen.z + nearer) * depth, 1.0);
      gl_PointSize = dot_px;
    }`;
  const FACES = COMMON + `
    in vec3 at, seen;
    uniform vec4 colour; uniform float cut; uniform bool warm; uniform sampler2D heat;
    out vec4 result;
    void main() {
      if (at.z > cut) discard;
      vec3 n = normalize(cross(dFdx(seen), dFdy(seen)));
      if (n.z < 0.0) n = -n;
      float light = 0.42 + 0.42 * max(dot(n, normalize(vec3(-0.35, 0.65, 0.68))), 0.0)
        + 0.2 * max(dot(n, normalize(vec3(0.7, -0.1, 0.7))), 0.0);
      vec3 own = colour.rgb;
      if (warm) {
        vec4 measured = texelFetch(heat, ivec2(gl_FragCoord.xy), 0);
        if (measured.a > 0.5) { own = measured.rgb; light = 0.35 + 0.7 * light; }
      }
      result = vec4(min(own * light, vec3(1.0)), colour.a);
    }`;
  const LINES = COMMON + `
    in vec3 at; uniform vec4 colour; uniform float cut; out vec4 result;
    void main() { if (at.z > cut) discard; result = colour; }`;
  // The face of a cut is hatched, as in a drawing.
  const CAPS = COMMON + `
    in vec3 at; uniform vec4 colour; uniform float pitch; out vec4 result;
    void main() {
      float across = fract((at.x + at.y) / pitch), soft = fwidth((at.x + at.y) / pitch);
      float line = 1.0 - smoothstep(0.16, 0.16 + soft, min(across, 1.0 - across));
      result = vec4(mix(mix(colour.rgb, vec3(1.0), 0.35), colour.rgb * 0.35, line), colour.a);
    }`;
  // Each point is a cone, so that every place has the colour of the point next to it.
  const DOTS = COMMON + `
    in vec3 at; in float thick; uniform float cut, limit, cap, slope; out vec4 result;
    vec3 ramp(float v) {
      vec3 thin = vec3(0.64, 0.15, 0.11), mark = vec3(0.93, 0.72, 0.30), sound = vec3(0.30, 0.58, 0.56),
        thick_ = vec3(0.36, 0.40, 0.52);
      if (v < limit) return mix(thin, mark, v / limit);
      float u = (v - limit) / max(cap - limit, 1e-3);
      return u < 0.5 ? mix(mark, sound, 2.0 * u) : mix(sound, thick_, min(2.0 * u - 1.0, 1.0));
    }
    void main() {
      float off = 2.0 * length(gl_PointCoord - 0.5);
      if (at.z > cut || off > 1.0) discard;
      gl_FragDepth = gl_FragCoord.z + off * slope;
      result = vec4(ramp(thick), 1.0);
    }`;
  const program = (fragment) => {
    const made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(made, shader);
    }
    gl.bindAttribLocation(made, 0, "p");
    gl.bindAttribLocation(made, 1, "t");
    gl.linkProgram(made);
    if (!gl.getProgramParameter(made, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(made));
    const places = {};
    const set = (name, kind, ...values) => {
      places[name] ??= gl.getUniformLocation(made, name);
      if (kind === "Matrix3fv") gl.uniformMatrix3fv(places[name], false, values[0]);
      else gl["uniform" + kind](places[name], ...values);
    };
    return { made, set };
  };
  const faces = program(FACES), lines = program(LINES), caps = program(CAPS), dots = program(DOTS);

  // ---- shapes ---------------------------------------------------------------
  const bytes = (text) => {
    if (Uint8Array.fromBase64) return Uint8Array.fromBase64(text).buffer;
    const raw = atob(text), out = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) out[i] = raw.charCodeAt(i);
    return out.buffer;
  };
  const buffer = (kind, data) => {
    const made = gl.createBuffer();
    gl.bindBuffer(kind, made);
    gl.bufferData(kind, data, gl.STATIC_DRAW);
    return made;
  };
  const attribute = (index, count, data) => {
    const made = buffer(gl.ARRAY_BUFFER, data);
    gl.enableVertexAttribArray(index);
    gl.vertexAttribPointer(index, count, gl.FLOAT, false, 0, 0);
    return made;
  };
  const shape = (packed) => {
    const corners = new Float32Array(bytes(packed.corners));
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (let i = 0; i < corners.length; i++) {
      const k = i % 3, v = corners[i];
      if (v < low[k]) low[k] = v;
      if (v > high[k]) high[k] = v;
    }
    // Numbers of few corners are packed in sixteen bits.
    const [Numbers, width] = corners.length / 3 <= 65536 ? [Uint16Array, gl.UNSIGNED_SHORT] : [Uint32Array, gl.UNSIGNED_INT];
    const triangles = new Numbers(bytes(packed.triangles)), edges = new Numbers(bytes(packed.edges));
    const vao = gl.createVertexArray();
    gl.bindVertexArray(vao);
    const corner = attribute(0, 3, corners);
    const face = buffer(gl.ELEMENT_ARRAY_BUFFER, triangles), edge = buffer(gl.ELEMENT_ARRAY_BUFFER, edges);
    return { vao, buffers: [corner, face, edge], face, edge, faces: triangles.length, edges: edges.length, width, low, high };
  };
  const heat = (packed) => {
    const spread = packed.low.map((low, k) => (packed.high[k] - low) / 65535);
    const at = Float32Array.from(new Uint16Array(bytes(packed.at)), (v, i) => packed.low[i % 3] + v * spread[i % 3]);
    const thickness = Float32Array.from(new Uint16Array(bytes(packed.thickness)), (v) => v / 65535 * (packed.cap || 1));
    const vao = gl.createVertexArray();
    gl.bindVertexArray(vao);
    const buffers = [attribute(0, 3, at), attribute(1, 1, thickness)];
    return { vao, buffers, count: at.length / 3 };
  };
  const forget = ({ vao, buffers }) => {
    gl.deleteVertexArray(vao);
    buffers.forEach((made) => gl.deleteBuffer(made));
  };
  let bodies = [], components = [];
  // Shapes by their keys, which scenes to come may name alone.
  let held = new Map();
  // Takes a scene in place of the last. Shapes that are as they were stay where they are.
  const take = (scene) => {
    const before = held;
    held = new Map();
    const kept = (packed) => {
      const key = packed.key ?? Symbol();
      if (!held.has(key)) held.set(key, before.get(key) ?? shape(packed));
      return held.get(key);
    };
    bodies.forEach((b) => forget(b.warm));
    bodies = scene.bodies.map((b) => ({ ...b, on: true, made: kept(b.shape), warm: heat(b.heat) }));
    components = scene.components.map((c) => ({ ...c, on: c.shown, made: kept(c.shape) }));
    before.forEach((made, key) => { if (!held.has(key)) forget(made); });
    return { bodies, components };
  };
  const holds = () => [...held.keys()];

  // A square that is moved to each cut.
  const plane = gl.createVertexArray();
  gl.bindVertexArray(plane);
  const corners = attribute(0, 3, new Float32Array(12));

  // With smooth edges, all is drawn here before it goes to the canvas.
  const SAMPLES = 4;
  const smoothed = { frame: gl.createFramebuffer(), colour: gl.createRenderbuffer(), depth: gl.createRenderbuffer(), size: [0, 0] };
  const smoothing = (width, height) => {
    gl.bindFramebuffer(gl.FRAMEBUFFER, smoothed.frame);
    if (smoothed.size[0] === width && smoothed.size[1] === height) return;
    smoothed.size = [width, height];
    const stored = (buffer, format, place) => {
      gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
      gl.renderbufferStorageMultisample(gl.RENDERBUFFER, SAMPLES, format, width, height);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, place, gl.RENDERBUFFER, buffer);
    };
    stored(smoothed.colour, gl.RGBA8, gl.COLOR_ATTACHMENT0);
    stored(smoothed.depth, gl.DEPTH24_STENCIL8, gl.DEPTH_STENCIL_ATTACHMENT);
  };

  // Where thickness is drawn before the bodies take it as their colour.
  const measured = { frame: gl.createFramebuffer(), texture: gl.createTexture(), depth: gl.createRenderbuffer(), size: [0, 0] };
  const fitted = (width, height) => {
    gl.bindFramebuffer(gl.FRAMEBUFFER, measured.frame);
    if (measured.size[0] === width && measured.size[1] === height) return;
    measured.size = [width, height];
    gl.bindTexture(gl.TEXTURE_2D, measured.texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA8, width, height, 0, gl.RGBA, gl.UNSIGNED_BYTE, null);
    gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, measured.texture, 0);
    gl.bindRenderbuffer(gl.RENDERBUFFER, measured.depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT24, width, height);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, measured.depth);
  };

  // ---- drawing --------------------------------------------------------------
  // view: turn (a matrix by columns), at (the middle, mm), scale (of both axes), depth
  // (of the eye's axis), cut (z, mm), pitch (of its hatching, mm), shift (of a body or
  // component), heat and edges (whether), smooth (whether edges are), stage (its colour).
  const draw = (view) => {
    const { width, height } = gl.canvas;
    const use = (p, shift) => {
      gl.useProgram(p.made);
      p.set("turn", "Matrix3fv", view.turn);
      p.set("middle", "3f", ...view.at);
      p.set("shift", "3f", ...shift);
      p.set("scale", "2f", ...view.scale);
      p.set("depth", "1f", view.depth);
      p.set("cut", "1f", view.cut);
      p.set("nearer", "1f", 0);
    };
    const triangles = (made) => {
      gl.bindVertexArray(made.vao);
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, made.face);
      gl.drawElements(gl.TRIANGLES, made.faces, made.width, 0);
    };
    const fill = (made, rgba, shift, warm) => {
      use(faces, shift);
      faces.set("colour", "4f", ...rgba);
      faces.set("warm", "1i", warm ? 1 : 0);
      gl.enable(gl.POLYGON_OFFSET_FILL);
      gl.polygonOffset(1, 2);
      triangles(made);
      gl.disable(gl.POLYGON_OFFSET_FILL);
    };
    const outline = (made, rgba, shift) => {
      use(lines, shift);
      lines.set("colour", "4f", ...rgba);
      gl.bindVertexArray(made.vao);
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, made.edge);
      gl.drawElements(gl.LINES, made.edges, made.width, 0);
    };
    // Where more walls of a closed mesh face away than towards the eye, the cut goes through it.
    const capped = (made, rgba, shift, keepsDepth) => {
      if (!(view.cut > made.low[2] && view.cut < made.high[2])) return;
      gl.enable(gl.STENCIL_TEST);
      gl.clear(gl.STENCIL_BUFFER_BIT);
      gl.colorMask(false, false, false, false);
      gl.depthMask(false);
      gl.disable(gl.DEPTH_TEST);
      gl.stencilFunc(gl.ALWAYS, 0, 255);
      gl.stencilOpSeparate(gl.BACK, gl.KEEP, gl.KEEP, gl.INCR_WRAP);
      gl.stencilOpSeparate(gl.FRONT, gl.KEEP, gl.KEEP, gl.DECR_WRAP);
      use(faces, shift);
      faces.set("warm", "1i", 0);
      triangles(made);
      gl.colorMask(true, true, true, true);
      gl.depthMask(keepsDepth);
      gl.enable(gl.DEPTH_TEST);
      gl.stencilFunc(gl.NOTEQUAL, 0, 255);
      gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
      const [x, y] = made.low, [u, v] = made.high, z = view.cut;
      gl.bindVertexArray(plane);
      gl.bindBuffer(gl.ARRAY_BUFFER, corners);
      gl.bufferSubData(gl.ARRAY_BUFFER, 0, new Float32Array([x, y, z, u, y, z, x, v, z, u, v, z]));
      use(caps, shift);
      caps.set("colour", "4f", ...rgba);
      caps.set("pitch", "1f", view.pitch);
      gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
      gl.disable(gl.STENCIL_TEST);
    };
    const seen = bodies.filter((b) => b.on);
    gl.viewport(0, 0, width, height);
    gl.enable(gl.DEPTH_TEST);
    // Each body's thickness by itself, so that no neighbour's shines through.
    const warmed = (b, shift) => {
      fitted(width, height);
      gl.clearColor(0, 0, 0, 0);
      gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      gl.bindTexture(gl.TEXTURE_2D, null);
      gl.colorMask(false, false, false, false);
      fill(b.made, [0, 0, 0, 0], shift, false);
      gl.colorMask(true, true, true, true);
      use(dots, shift);
      dots.set("limit", "1f", b.heat.limit);
      dots.set("cap", "1f", b.heat.cap);
      dots.set("nearer", "1f", b.heat.spacing);
      dots.set("slope", "1f", 0.5 * view.depth * b.heat.spacing);
      dots.set("dot_px", "1f", Math.max(3, b.heat.spacing * 3 * view.scale[1] * height / 2));
      gl.bindVertexArray(b.warm.vao);
      gl.drawArrays(gl.POINTS, 0, b.warm.count);
      gl.bindFramebuffer(gl.FRAMEBUFFER, view.smooth ? smoothed.frame : null);
      gl.bindTexture(gl.TEXTURE_2D, measured.texture);
    };
    if (view.smooth) smoothing(width, height); else gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.clearColor(...view.stage, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    seen.forEach((b) => {
      const rgba = [...b.colour.map((v) => v / 255), 1], shift = view.shift(b);
      const warm = view.heat && Boolean(b.heat.cap);
      if (warm) warmed(b, shift);
      fill(b.made, rgba, shift, warm);
      capped(b.made, rgba, shift, true);
      if (view.edges) outline(b.made, [0.12, 0.11, 0.1, 1], shift);
    });
    gl.enable(gl.BLEND);
    // The canvas itself stays opaque.
    gl.blendFuncSeparate(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA, gl.ZERO, gl.ONE);
    gl.depthMask(false);
    components.filter((k) => k.on && (k.body === null || bodies[k.body].on)).forEach((k) => {
      const shift = view.shift(k);
      fill(k.made, [0.42, 0.62, 0.8, 0.28], shift, false);
      capped(k.made, [0.36, 0.55, 0.72, 0.75], shift, false);
      outline(k.made, [0.15, 0.3, 0.42, 0.7], shift);
    });
    gl.depthMask(true);
    gl.disable(gl.BLEND);
    if (view.smooth) {
      gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
      gl.blitFramebuffer(0, 0, width, height, 0, 0, width, height, gl.COLOR_BUFFER_BIT, gl.NEAREST);
    }
    gl.flush();
  };
  return { take, draw, holds };
};
