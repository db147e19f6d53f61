"use strict";
// Draws scenes: that of a report, or one after the other while a job is edited. Everything is
// redrawn only when something has changed. Returns how to show another scene; none where there
// is no WebGL.
const startView = (first) => {
  const byId = (id) => document.getElementById(id);
  const stage = byId("stage"), canvas = stage.querySelector("canvas");
  const gl = canvas.getContext("webgl2", { antialias: true, alpha: false });
  if (!gl || (first && first.bodies.length === 0)) { stage.classList.add("still"); return null; }
  byId("controls").hidden = false;

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
    uniform vec4 colour; uniform float cut; uniform vec3 cut_colour;
    out vec4 result;
    void main() {
      if (at.z > cut) discard;
      vec3 n = normalize(cross(dFdx(seen), dFdy(seen)));
      if (n.z < 0.0) n = -n;
      float light = 0.42 + 0.42 * max(dot(n, normalize(vec3(-0.35, 0.65, 0.68))), 0.0)
        + 0.2 * max(dot(n, normalize(vec3(0.7, -0.1, 0.7))), 0.0);
      // A body that is cut shows its inside in one flat colour.
      result = gl_FrontFacing ? vec4(colour.rgb * light, colour.a) : vec4(cut_colour, colour.a);
    }`;
  const LINES = COMMON + `
    in vec3 at; uniform vec4 colour; uniform float cut; out vec4 result;
    void main() { if (at.z > cut) discard; result = colour; }`;
  const DOTS = COMMON + `
    in vec3 at; in float thick; uniform float cut, limit, cap; out vec4 result;
    vec3 ramp(float v) {
      vec3 thin = vec3(0.64, 0.15, 0.11), mark = vec3(0.93, 0.72, 0.30), sound = vec3(0.30, 0.58, 0.56),
        thick_ = vec3(0.36, 0.40, 0.52);
      if (v < limit) return mix(thin, mark, v / limit);
      float u = (v - limit) / max(cap - limit, 1e-3);
      return u < 0.5 ? mix(mark, sound, 2.0 * u) : mix(sound, thick_, min(2.0 * u - 1.0, 1.0));
    }
    void main() {
      if (at.z > cut || length(gl_PointCoord - 0.5) > 0.5) discard;
      result = vec4(ramp(thick), 1.0);
    }`;
  const program = (fragment) => {
    const made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(made, shader);
    }
    gl.bindAttribLocation(made, 0, "p");
    gl.bindAttribLocation(made, 1, "t");
    gl.linkProgram(made);
    const places = {};
    const set = (name, kind, ...values) => {
      places[name] ??= gl.getUniformLocation(made, name);
      if (kind === "Matrix3fv") gl.uniformMatrix3fv(places[name], false, values[0]);
      else gl["uniform" + kind](places[name], ...values);
    };
    return { made, set };
  };
  const faces = program(FACES), lines = program(LINES), dots = program(DOTS);

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
  const shape = (packed) => {
    const corners = new Float32Array(bytes(packed.corners));
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (let i = 0; i < corners.length; i++) {
      const k = i % 3, v = corners[i];
      if (v < low[k]) low[k] = v;
      if (v > high[k]) high[k] = v;
    }
    const triangles = new Uint32Array(bytes(packed.triangles)), edges = new Uint32Array(bytes(packed.edges));
    const vao = gl.createVertexArray();
    gl.bindVertexArray(vao);
    const corner = buffer(gl.ARRAY_BUFFER, corners);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    const face = buffer(gl.ELEMENT_ARRAY_BUFFER, triangles), edge = buffer(gl.ELEMENT_ARRAY_BUFFER, edges);
    return { vao, face, edge, corner, faces: triangles.length, edges: edges.length, low, high };
  };
  const heat = (packed) => {
    const spread = packed.low.map((low, k) => (packed.high[k] - low) / 65535);
    const at = Float32Array.from(new Uint16Array(bytes(packed.at)), (v, i) => packed.low[i % 3] + v * spread[i % 3]);
    const thickness = Float32Array.from(new Uint16Array(bytes(packed.thickness)), (v) => v / 65535 * (packed.cap || 1));
    const vao = gl.createVertexArray();
    gl.bindVertexArray(vao);
    const place = buffer(gl.ARRAY_BUFFER, at);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    const value = buffer(gl.ARRAY_BUFFER, thickness);
    gl.enableVertexAttribArray(1);
    gl.vertexAttribPointer(1, 1, gl.FLOAT, false, 0, 0);
    return { vao, place, value, count: at.length / 3 };
  };
  const forget = ({ vao, ...buffers }) => {
    gl.deleteVertexArray(vao);
    for (const made of Object.values(buffers)) if (made instanceof WebGLBuffer) gl.deleteBuffer(made);
  };
  let scene = { bodies: [], components: [], pins: [] }, bodies = [], components = [], buttons = [];

  // ---- where things are -----------------------------------------------------
  let low = [0, 0, 0], high = [1, 1, 1], middle = [0, 0, 0], size = 1;
  const measure = () => {
    low = [0, 1, 2].map((k) => Math.min(...bodies.map((b) => b.made.low[k])));
    high = [0, 1, 2].map((k) => Math.max(...bodies.map((b) => b.made.high[k])));
  };
  const aim = () => {
    middle = low.map((v, k) => (v + high[k]) / 2);
    size = Math.hypot(...low.map((v, k) => high[k] - v));
  };
  const LOOKS = { oblique: [52, 28], switches: [90, 89.9], side: [90, 0], front: [0, 0], below: [52, -35] };
  const start = { yaw: 52, pitch: 28, zoom: 1, x: 0, y: 0 };
  const eye = { ...start };
  let apart = 0, cut = Infinity, current = -1;
  // Bodies move apart away from the axis, each its own way.
  const shiftOf = (i) => [0, apart * i * (high[1] - low[1]) * 1.15, 0];

  const turn = () => {
    const yaw = eye.yaw * Math.PI / 180, pitch = eye.pitch * Math.PI / 180;
    const back = [Math.cos(pitch) * Math.sin(yaw), Math.sin(pitch), Math.cos(pitch) * Math.cos(yaw)];
    const right = [Math.cos(yaw), 0, -Math.sin(yaw)];
    const up = [back[1] * right[2] - back[2] * right[1], back[2] * right[0] - back[0] * right[2],
      back[0] * right[1] - back[1] * right[0]];
    return { right, up, back };
  };
  const centre = () => [middle[0], middle[1] + shiftOf(bodies.length - 1)[1] / 2, middle[2]];
  const scale = () => {
    const room = size + shiftOf(bodies.length - 1)[1];
    // The longest line fits the width; in a low stage it may lean out above and below.
    const wide = canvas.width / canvas.height, unit = 1.8 * eye.zoom * Math.min(1, 1.6 / wide) / room;
    return [unit, unit * wide];
  };
  const dot3 = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

  // ---- drawing --------------------------------------------------------------
  const colour = (name) => {
    const text = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    return [1, 3, 5].map((i) => parseInt(text.slice(i, i + 2), 16) / 255);
  };
  const draw = () => {
    asked = false;
    const ratio = Math.min(devicePixelRatio || 1, 2);
    canvas.width = Math.max(1, Math.round(stage.clientWidth * ratio));
    canvas.height = Math.max(1, Math.round(stage.clientHeight * ratio));
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(...colour("--stage"), 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    const { right, up, back } = turn(), c = centre(), s = scale();
    const m = [right[0], up[0], back[0], right[1], up[1], back[1], right[2], up[2], back[2]];
    const at = [c[0] - right[0] * eye.x - up[0] * eye.y, c[1] - right[1] * eye.x - up[1] * eye.y,
      c[2] - right[2] * eye.x - up[2] * eye.y];
    const use = (p, shift) => {
      gl.useProgram(p.made);
      p.set("turn", "Matrix3fv", m);
      p.set("middle", "3f", ...at);
      p.set("shift", "3f", ...shift);
      p.set("scale", "2f", ...s);
      p.set("depth", "1f", 0.2 / (size + 1));
      p.set("cut", "1f", cut);
      p.set("nearer", "1f", 0);
    };
    const fill = (made, rgba, inside, shift) => {
      use(faces, shift);
      faces.set("colour", "4f", ...rgba);
      faces.set("cut_colour", "3f", ...inside);
      gl.bindVertexArray(made.vao);
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, made.face);
      gl.enable(gl.POLYGON_OFFSET_FILL);
      gl.polygonOffset(1, 2);
      gl.drawElements(gl.TRIANGLES, made.faces, gl.UNSIGNED_INT, 0);
      gl.disable(gl.POLYGON_OFFSET_FILL);
    };
    const outline = (made, rgba, shift) => {
      use(lines, shift);
      lines.set("colour", "4f", ...rgba);
      gl.bindVertexArray(made.vao);
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, made.edge);
      gl.drawElements(gl.LINES, made.edges, gl.UNSIGNED_INT, 0);
    };
    bodies.forEach((b, i) => {
      if (!b.on) return;
      fill(b.made, [...b.colour.map((v) => v / 255), 1], [0.55, 0.27, 0.22], shiftOf(i));
      if (byId("edges-on").checked) outline(b.made, [0.12, 0.11, 0.1, 1], shiftOf(i));
      if (byId("heat-on").checked && b.heat.cap) {
        use(dots, shiftOf(i));
        dots.set("limit", "1f", b.heat.limit);
        dots.set("cap", "1f", b.heat.cap);
        dots.set("nearer", "1f", 0.12);
        dots.set("dot_px", "1f", Math.max(3, b.heat.spacing * 2 * s[1] * canvas.height / 2));
        gl.bindVertexArray(b.warm.vao);
        gl.drawArrays(gl.POINTS, 0, b.warm.count);
      }
    });
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    components.forEach((k) => {
      if (!k.on || !bodies[k.body].on) return;
      fill(k.made, [0.42, 0.62, 0.8, 0.28], [0.3, 0.45, 0.58], shiftOf(k.body));
      outline(k.made, [0.15, 0.3, 0.42, 0.7], shiftOf(k.body));
    });
    gl.depthMask(true);
    gl.disable(gl.BLEND);
    scene.pins.forEach((pin, i) => {
      const button = buttons[i], shift = shiftOf(pin.body);
      const p = pin.at.map((v, k) => v + shift[k] - at[k]);
      button.style.left = `${50 + 50 * dot3(right, p) * s[0]}%`;
      button.style.top = `${50 - 50 * dot3(up, p) * s[1]}%`;
      button.hidden = !byId("pins-on").checked || !bodies[pin.body].on || pin.at[2] > cut;
      button.setAttribute("aria-current", String(i === current));
    });
  };
  let asked = false;
  const redraw = () => { if (!asked) { asked = true; requestAnimationFrame(draw); } };

  // ---- pins -----------------------------------------------------------------
  const listed = (i) => document.querySelector(`button.pin[data-pin="${i + 1}"]`);
  const pinned = (pin, i) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = String(i + 1);
    button.dataset.kind = pin.kind;
    button.title = pin.text;
    button.setAttribute("aria-label", `${pin.kind} ${i + 1}: ${pin.text}`);
    button.addEventListener("click", () => {
      current = i;
      redraw();
      const there = listed(i);
      if (there) { there.scrollIntoView({ block: "center" }); there.focus(); }
    });
    byId("pins").append(button);
    return button;
  };
  document.addEventListener("click", (e) => {
    const there = e.target.closest("button.pin");
    if (!there) return;
    current = Number(there.dataset.pin) - 1;
    byId("pins-on").checked = true;
    stage.scrollIntoView({ block: "nearest" });
    redraw();
  });

  // ---- controls -------------------------------------------------------------
  const toggle = (into, item, text, rgb) => {
    const label = document.createElement("label"), box = document.createElement("input");
    box.type = "checkbox";
    box.checked = item.on;
    box.addEventListener("change", () => { item.on = box.checked; redraw(); });
    label.append(box);
    if (rgb) {
      const swatch = document.createElement("span");
      swatch.className = "swatch";
      swatch.style.background = `rgb(${rgb})`;
      label.append(swatch);
    }
    label.append(text);
    label.title = item.what || text;
    byId(into).append(label);
  };
  document.querySelectorAll("[data-look]").forEach((button) => button.addEventListener("click", () => {
    [eye.yaw, eye.pitch] = LOOKS[button.dataset.look];
    redraw();
  }));
  ["pins-on", "edges-on"].forEach((id) => byId(id).addEventListener("change", redraw));
  const scaleOfHeat = () => {
    const b = bodies.find((body) => body.heat.cap);
    byId("scale").hidden = !byId("heat-on").checked || !b;
    if (b) {
      const mark = 100 * b.heat.limit / b.heat.cap, half = (mark + 100) / 2;
      byId("scale-limit").textContent = String(b.heat.limit);
      byId("scale-limit").style.left = `${mark}%`;
      byId("scale-cap").textContent = `${b.heat.cap} and more`;
      byId("ramp").style.background = `linear-gradient(to right, #a3261c 0%, #edb84d ${mark}%, #4d948f ${half}%, #5c6685 100%)`;
    }
    redraw();
  };
  byId("heat-on").addEventListener("change", scaleOfHeat);
  const slider = byId("cut");
  const cutAt = () => {
    cut = byId("cut-on").checked ? Number(slider.value) : Infinity;
    byId("cut-at").textContent = byId("cut-on").checked ? `z = ${Number(slider.value).toFixed(1)} mm` : "";
    redraw();
  };
  slider.addEventListener("input", () => { byId("cut-on").checked = true; cutAt(); });
  byId("cut-on").addEventListener("change", cutAt);
  byId("apart").addEventListener("input", () => { apart = Number(byId("apart").value); redraw(); });

  // ---- turning --------------------------------------------------------------
  const clamp = (v, a, b) => Math.min(b, Math.max(a, v));
  const rotate = (x, y) => { eye.yaw -= x; eye.pitch = clamp(eye.pitch + y, -89.9, 89.9); redraw(); };
  const zoom = (by) => { eye.zoom = clamp(eye.zoom * by, 0.3, 40); redraw(); };
  const move = (x, y) => {
    const s = scale();
    eye.x += 2 * x / (s[0] * stage.clientWidth);
    eye.y -= 2 * y / (s[1] * stage.clientHeight);
    redraw();
  };
  const down = new Map();
  canvas.addEventListener("pointerdown", (e) => { canvas.setPointerCapture(e.pointerId); down.set(e.pointerId, [e.clientX, e.clientY]); });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (e) => down.delete(e.pointerId));
  canvas.addEventListener("pointermove", (e) => {
    const before = down.get(e.pointerId);
    if (!before) return;
    const [x, y] = [e.clientX - before[0], e.clientY - before[1]];
    if (down.size === 2) {
      const other = [...down].find(([id]) => id !== e.pointerId)[1];
      const far = (a) => Math.hypot(a[0] - other[0], a[1] - other[1]);
      zoom(far([e.clientX, e.clientY]) / Math.max(far(before), 1));
      move(x / 2, y / 2);
    } else if (e.shiftKey || e.button === 1 || e.buttons === 4) move(x, y);
    else rotate(0.4 * x, 0.4 * y);
    down.set(e.pointerId, [e.clientX, e.clientY]);
  });
  canvas.addEventListener("wheel", (e) => { e.preventDefault(); zoom(Math.exp(-0.0015 * e.deltaY)); }, { passive: false });
  canvas.addEventListener("keydown", (e) => {
    const keys = {
      ArrowLeft: () => rotate(-6, 0), ArrowRight: () => rotate(6, 0), ArrowUp: () => rotate(0, -6), ArrowDown: () => rotate(0, 6),
      "+": () => zoom(1.2), "=": () => zoom(1.2), "-": () => zoom(1 / 1.2), 0: () => { Object.assign(eye, start); aim(); redraw(); },
    };
    if (keys[e.key]) { e.preventDefault(); keys[e.key](); }
  });
  canvas.addEventListener("webglcontextlost", () => stage.classList.add("still"));
  new ResizeObserver(redraw).observe(stage);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);

  // ---- scenes ---------------------------------------------------------------
  // Another scene in place of the one that is shown. `anew` looks at it from the start; else
  // the pose stays, and what was switched on or off by name.
  const show = (next, anew) => {
    const was = new Map([...bodies, ...components].map((item) => [item.name, item.on]));
    // Shapes that are as they were stay where they are.
    const left = [...bodies, ...components];
    const taken = (packed) => {
      const at = left.findIndex(({ shape: s }) => s.corners === packed.corners && s.triangles === packed.triangles);
      return at < 0 ? shape(packed) : left.splice(at, 1)[0].made;
    };
    bodies.forEach((b) => forget(b.warm));
    scene = next;
    bodies = scene.bodies.map((b) => ({ ...b, on: was.get(b.name) ?? true, made: taken(b.shape), warm: heat(b.heat) }));
    components = scene.components.map((k) => ({ ...k, on: was.get(k.name) ?? k.shown, made: taken(k.shape) }));
    left.forEach((item) => forget(item.made));
    if (bodies.length > 0) measure();
    if (anew) { Object.assign(eye, start); aim(); current = -1; }
    byId("pins").replaceChildren();
    buttons = scene.pins.map(pinned);
    for (const id of ["bodies", "components"]) byId(id).querySelectorAll("label").forEach((label) => label.remove());
    bodies.forEach((b) => toggle("bodies", b, b.name, b.colour));
    components.forEach((k) => toggle("components", k, k.name.replaceAll("_", " ")));
    byId("components").hidden = components.length === 0;
    slider.min = low[2].toFixed(1);
    slider.max = high[2].toFixed(1);
    if (anew) slider.value = String(middle[2]);
    scaleOfHeat();
    cutAt();
  };
  if (first) show(first, true);
  return { show };
};
{
  const given = document.getElementById("scene");
  if (given) {
    addEventListener("beforeprint", () => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
    startView(JSON.parse(given.textContent));
  }
}
