"use strict";
// The 3D view that the report and the bench page have in common: controls, keys, pins.
// Everything is redrawn only when something has changed. Draws a scene, if one is given, and
// returns how to show another one; nothing where there is nothing to draw or no WebGL.
const startView = (first) => {
  const byId = (id) => document.getElementById(id);
  const stage = byId("stage"), canvas = stage.querySelector("canvas");
  const gl = canvas.getContext("webgl2", { antialias: false, stencil: true });
  if (!gl || first?.bodies.length === 0) return null;
  const { take, draw, holds } = drawing(gl);
  let bodies = [], components = [], pins = [], buttons = [];
  stage.classList.remove("still");
  for (const id of ["controls", "keys"]) byId(id).hidden = false;

  // ---- where things are -----------------------------------------------------
  const AXES = [0, 1, 2];
  const box = (shapes) => [
    AXES.map((k) => Math.min(...shapes.map((s) => s.made.low[k]))),
    AXES.map((k) => Math.max(...shapes.map((s) => s.made.high[k]))),
  ];
  let low = [0, 0, 0], high = [1, 1, 1], size = 1;
  const moved = (item, by) => ({ made: { low: item.made.low.map((v, a) => v + by[a]), high: item.made.high.map((v, a) => v + by[a]) } });
  const height = (lane) => lane.reduce((sum, b) => sum + b.made.low[1] + b.made.high[1], 0) / (2 * lane.length);
  const reachAlong = (made, d, pick) => AXES.reduce((sum, a) => sum + pick(d[a] * made.low[a], d[a] * made.high[a]), 0);
  // Pulled apart, bodies that lie beside one another get lanes of their own, those that
  // follow along z get room between them, and components go back the way they came.
  const arrange = () => {
    [low, high] = bodies.length > 0 ? box(bodies) : [[0, 0, 0], [1, 1, 1]];
    size = Math.hypot(...AXES.map((k) => high[k] - low[k]));
    const gapAlong = 0.08 * size, gapAcross = 0.35 * (high[1] - low[1]);
    const lanes = [];
    for (const b of [...bodies].sort((p, q) => p.made.low[2] - q.made.low[2])) {
      const off = (lane) => Math.abs(height(lane) - height([b]));
      const free = (lane) => lane.at(-1).made.high[2] <= b.made.low[2] + 0.05 * size && off(lane) < gapAcross;
      const lane = lanes.filter(free).sort((p, q) => off(p) - off(q))[0];
      if (lane) lane.push(b); else lanes.push([b]);
    }
    lanes.sort((p, q) => height(p) - height(q));
    // How far a component goes until it is clear of its body, or as far as the view is wide.
    const own = components.filter((k) => k.body !== null);
    for (const k of own) {
      const out = k.way.map((v) => -v), body = bodies[k.body];
      const clear = reachAlong(body.made, out, Math.max) - reachAlong(k.made, out, Math.min) + gapAcross / 3;
      k.out = out.map((v) => v * Math.min(clear, 0.3 * size));
    }
    let top = 0;
    for (const lane of lanes) {
      const inLane = own.filter((k) => k.shown && lane.includes(bodies[k.body]));
      const [under, over] = box([...lane, ...inLane.map((k) => moved(k, k.out))]);
      lane.forEach((b, i) => { b.apart = [0, top - under[1], (i - (lane.length - 1) / 2) * gapAlong]; });
      top += over[1] - under[1] + gapAcross;
    }
    own.forEach((k) => { k.apart = AXES.map((a) => bodies[k.body].apart[a] + k.out[a]); });
    // What belongs to no body lies under the lowest lane.
    components.filter((k) => k.body === null).forEach((k) => { k.apart = [0, -k.made.high[1] - gapAcross, 0]; });
  };
  const LOOKS = { oblique: [52, 28], switches: [90, 89.9], side: [90, 0], front: [0, 0], below: [52, -35] };
  const start = { yaw: 52, pitch: 28, zoom: 1, x: 0, y: 0 };
  const eye = { ...start };
  let apart = 0, cut = Infinity, current = -1;
  const shift = (item) => item.apart.map((v) => apart * v);

  const turn = () => {
    const yaw = eye.yaw * Math.PI / 180, pitch = eye.pitch * Math.PI / 180;
    const back = [Math.cos(pitch) * Math.sin(yaw), Math.sin(pitch), Math.cos(pitch) * Math.cos(yaw)];
    const right = [Math.cos(yaw), 0, -Math.sin(yaw)];
    const up = [back[1] * right[2] - back[2] * right[1], back[2] * right[0] - back[0] * right[2],
      back[0] * right[1] - back[1] * right[0]];
    return { right, up, back };
  };
  const HATCH_PX = 10;
  const dot3 = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  // A look fills the stage with the bodies as pulled apart; turning from there keeps the size,
  // and so does another scene.
  let centre = [0, 0, 0], filled = [1, 1];
  const fill = () => {
    if (bodies.length === 0) return;
    const { right, up } = turn(), [from, to] = box(bodies.map((b) => moved(b, shift(b))));
    const reach = (axis) => dot3(AXES.map((k) => (to[k] - from[k]) / 2), axis.map(Math.abs));
    centre = AXES.map((k) => (from[k] + to[k]) / 2);
    filled = [reach(right), reach(up)];
  };
  const scale = () => {
    const wide = canvas.width / canvas.height;
    const unit = 0.86 * eye.zoom * Math.min(1 / filled[0], 1 / (filled[1] * wide));
    return [unit, unit * wide];
  };

  // ---- drawing --------------------------------------------------------------
  // Where a processor draws, what changes is drawn at half the size, and at rest in full with smooth
  // edges, which take more than twice the time.
  const names = gl.getExtension("WEBGL_debug_renderer_info");
  const slow = /swiftshader|llvmpipe|softpipe|software|basic render/i.test(gl.getParameter(names ? names.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
  const REST_MS = 200, COARSE = 2;
  let resting = 0;
  // What the page around gives, read when it changes: to ask for it lays the page out.
  let room = [1, 1], paper = [1, 1, 1];
  const surroundings = () => {
    room = [stage.clientWidth, stage.clientHeight];
    const text = getComputedStyle(document.documentElement).getPropertyValue("--stage").trim();
    paper = [1, 3, 5].map((i) => parseInt(text.slice(i, i + 2), 16) / 255);
  };
  const drawAll = (smooth) => {
    asked = false;
    clearTimeout(resting);
    if (!smooth) resting = setTimeout(() => drawAll(true), REST_MS);
    stage.classList.toggle("moving", !smooth);
    const ratio = Math.min(devicePixelRatio || 1, 2) / (smooth ? 1 : COARSE);
    const [width, height] = room.map((px) => Math.max(1, Math.round(px * ratio)));
    // A canvas that is given a size, even its own, gets other memory.
    if (canvas.width !== width || canvas.height !== height) [canvas.width, canvas.height] = [width, height];
    const { right, up, back } = turn(), s = scale();
    const at = AXES.map((k) => centre[k] - right[k] * eye.x - up[k] * eye.y);
    draw({
      turn: AXES.flatMap((k) => [right[k], up[k], back[k]]),
      at, scale: s, depth: 0.2 / (size + 1), cut, pitch: HATCH_PX * 2 / (s[0] * room[0]), shift,
      heat: byId("heat-on").checked, edges: byId("edges-on").checked, smooth, stage: paper,
    });
    pins.forEach((pin, i) => {
      const button = buttons[i], body = bodies[pin.body], off = shift(body);
      const p = pin.at.map((v, k) => v + off[k] - at[k]);
      button.style.left = `${50 + 50 * dot3(right, p) * s[0]}%`;
      button.style.top = `${50 - 50 * dot3(up, p) * s[1]}%`;
      button.hidden = !byId("pins-on").checked || !body.on || pin.at[2] > cut;
      button.setAttribute("aria-current", String(i === current));
    });
  };
  let asked = false;
  const redraw = () => { if (!asked) { asked = true; requestAnimationFrame(() => { if (asked) drawAll(!slow); }); } };

  // ---- pins -----------------------------------------------------------------
  const inList = (i) => document.querySelector(`button.pin[data-pin="${i + 1}"]`);
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
      const there = inList(i);
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
    stage.scrollIntoView({ block: "center" });
    redraw();
  });

  // ---- controls -------------------------------------------------------------
  const toggle = (into, item, text, rgb) => {
    const label = document.createElement("label"), box = document.createElement("input");
    box.type = "checkbox";
    box.addEventListener("change", () => { item().on = box.checked; redraw(); });
    label.append(box);
    if (rgb) {
      const swatch = document.createElement("span");
      swatch.className = "swatch";
      swatch.style.background = `rgb(${rgb})`;
      label.append(swatch);
    }
    label.append(text);
    label.title = item().what || text;
    byId(into).append(label);
  };
  // What can be switched off. Another scene of the same things keeps the boxes.
  let listed = "";
  const toggles = () => {
    const names = JSON.stringify([bodies.map((b) => [b.name, b.colour]), components.map((k) => [k.name, k.what])]);
    if (names !== listed) {
      listed = names;
      for (const id of ["bodies", "components"]) byId(id).querySelectorAll("label").forEach((label) => label.remove());
      bodies.forEach((b, i) => toggle("bodies", () => bodies[i], b.name, b.colour));
      components.forEach((k, i) => toggle("components", () => components[i], k.name.replaceAll("_", " ")));
    }
    for (const [id, items] of [["bodies", bodies], ["components", components]]) {
      byId(id).querySelectorAll("input").forEach((box, i) => { box.checked = items[i].on; });
    }
  };
  document.querySelectorAll("[data-look]").forEach((button) => button.addEventListener("click", () => {
    [eye.yaw, eye.pitch] = LOOKS[button.dataset.look];
    fill();
    redraw();
  }));
  ["pins-on", "edges-on"].forEach((id) => byId(id).addEventListener("change", redraw));
  const scaleOfHeat = () => {
    const b = bodies.find((body) => body.heat.cap);
    byId("scale").hidden = !byId("heat-on").checked || !b;
    if (b) {
      const mark = 100 * b.heat.limit / b.heat.cap, half = (mark + 100) / 2;
      byId("scale-limit").textContent = String(b.heat.limit);
      byId("scale-limit").style.left = `calc(.6rem + (100% - 1.2rem) * ${mark / 100})`;
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
  const moveCut = (by) => {
    slider.value = String(Number(slider.value) + by);
    byId("cut-on").checked = true;
    cutAt();
  };
  slider.addEventListener("input", () => { byId("cut-on").checked = true; cutAt(); });
  byId("cut-on").addEventListener("change", cutAt);
  byId("apart").addEventListener("input", () => { apart = Number(byId("apart").value); fill(); redraw(); });

  // ---- turning --------------------------------------------------------------
  const clamp = (v, a, b) => Math.min(b, Math.max(a, v));
  const rotate = (x, y) => { eye.yaw -= x; eye.pitch = clamp(eye.pitch + y, -89.9, 89.9); redraw(); };
  const zoom = (by) => { eye.zoom = clamp(eye.zoom * by, 0.3, 40); redraw(); };
  const move = (x, y) => {
    const s = scale();
    eye.x += 2 * x / (s[0] * room[0]);
    eye.y -= 2 * y / (s[1] * room[1]);
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
      "+": () => zoom(1.2), "=": () => zoom(1.2), "-": () => zoom(1 / 1.2), 0: () => { Object.assign(eye, start); fill(); redraw(); },
      c: () => byId("cut-on").click(), "[": () => moveCut(-1), "]": () => moveCut(1), h: () => byId("heat-on").click(),
      x: () => { byId("apart").value = apart > 0 ? 0 : 1; byId("apart").dispatchEvent(new Event("input")); },
    };
    if (keys[e.key] && !e.ctrlKey && !e.metaKey && !e.altKey) { e.preventDefault(); keys[e.key](); }
  });
  canvas.addEventListener("webglcontextlost", () => stage.classList.add("still"));
  const around = () => { surroundings(); redraw(); };
  surroundings();
  new ResizeObserver(around).observe(stage);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", around);

  // ---- scenes ---------------------------------------------------------------
  // Another scene in place of the one that is shown. `anew` looks at it from the start; else
  // the pose stays, and what was switched on or off by name.
  const show = (next, anew) => {
    // Several bodies may have a component of one name.
    const items = () => [...bodies.map((b) => [b.name, b]), ...components.map((k) => [`${bodies[k.body]?.name}: ${k.name}`, k])];
    const was = new Map(items().map(([name, item]) => [name, item.on]));
    ({ bodies, components } = take(next));
    if (!anew) for (const [name, item] of items()) item.on = was.get(name) ?? item.on;
    arrange();
    if (anew) { Object.assign(eye, start); fill(); current = -1; }
    pins = next.pins;
    byId("pins").replaceChildren();
    buttons = pins.map(pinned);
    toggles();
    byId("components").hidden = components.length === 0;
    byId("apart-set").hidden = bodies.length < 2 && components.every((k) => Math.hypot(...k.way) === 0);
    // A scene that is shown before it is checked has no pins yet.
    if (anew || pins.length > 0) byId("pins-on").closest("label").hidden = pins.length === 0;
    slider.min = low[2].toFixed(1);
    slider.max = high[2].toFixed(1);
    if (anew) slider.value = ((low[2] + high[2]) / 2).toFixed(1);
    scaleOfHeat();
    cutAt();
    // At once: it is drawn while the page around it changes.
    drawAll(!slow);
  };
  if (first) show(first, true);
  return { show, holds };
};
