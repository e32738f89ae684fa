// The photo: pan, zoom, magnifier; ticks, marks, pivot and the tried needle drawn over it; pointer and keys.
const REACH = 22; // css px round a mark in which a finger takes it
const STEP = 0.1; // px of the photo for an arrow key
const hundredth = (v) => Math.round(v * 100) / 100;
const GLASS = 8; // magnifier: css px for a px of the photo, at least

export class Stage extends EventTarget {
  constructor(canvas, glass, image, model) {
    super();
    Object.assign(this, { canvas, glass, image, model, tool: "look", scale: 1, x: 0, y: 0, fingers: new Map(), held: null });
    this.pen = canvas.getContext("2d");
    new ResizeObserver(() => this.fitted ? this.draw() : this.whole()).observe(canvas);
    canvas.addEventListener("pointerdown", (e) => this.down(e));
    canvas.addEventListener("pointermove", (e) => this.moved(e));
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (e) => this.up(e));
    canvas.addEventListener("wheel", (e) => { e.preventDefault(); this.zoom(Math.exp(-e.deltaY * 0.0015), e.offsetX, e.offsetY); }, { passive: false });
    canvas.addEventListener("keydown", (e) => this.key(e));
    for (const kind of ["focus", "blur"]) canvas.addEventListener(kind, () => this.draw());
    model.addEventListener("change", () => this.draw());
  }
  get width() { return this.canvas.clientWidth; }
  get height() { return this.canvas.clientHeight; }
  toPhoto(x, y) { return [(x - this.x) / this.scale, (y - this.y) / this.scale]; }
  toView(x, y) { return [x * this.scale + this.x, y * this.scale + this.y]; }
  middle() { return this.toPhoto(this.width / 2, this.height / 2); }
  show(cx, cy, half) {
    if (!this.width || !this.height) return;
    this.fitted = true;
    this.scale = Math.min(this.width, this.height) / (2 * half);
    [this.x, this.y] = [this.width / 2 - cx * this.scale, this.height / 2 - cy * this.scale];
    this.draw();
  }
  whole() {
    const [w, h] = this.model.start.size;
    this.show(w / 2, h / 2, Math.max(w / this.width, h / this.height) * Math.min(this.width, this.height) / 2);
  }
  face() {
    const d = this.model.dial;
    if (d) this.show(d.pivot[0], d.pivot[1], 1.35 * d.radius); else this.whole();
  }
  zoom(factor, x = this.width / 2, y = this.height / 2) {
    const [w, h] = this.model.start.size;
    const scale = Math.min(Math.max(this.scale * factor, 0.4 * Math.min(this.width / w, this.height / h)), 40);
    const [px, py] = this.toPhoto(x, y);
    this.scale = scale;
    [this.x, this.y] = [x - px * scale, y - py * scale];
    this.draw();
  }
  // Brings a place into view.
  reveal(p) {
    const [x, y] = this.toView(p.x, p.y), m = 30;
    this.x += Math.max(m - x, 0) + Math.min(this.width - m - x, 0);
    this.y += Math.max(m - y, 0) + Math.min(this.height - m - y, 0);
    this.draw();
  }
  // What lies under a place of the view: a mark, the pivot, the needle or a tick.
  under(x, y, reach = REACH) {
    const all = this.model.now.marks.map((m) => [m.key, m]);
    if (this.model.now.pivot) all.push(["pivot", this.model.now.pivot]);
    if (this.model.needle) all.push(["needle", this.model.needle]);
    const far = (p) => { const [u, v] = this.toView(p.x, p.y); return Math.hypot(u - x, v - y); };
    const near = all.map(([key, p]) => [far(p), key]).filter((c) => c[0] < reach).sort((a, b) => a[0] - b[0])[0];
    return near ? near[1] : null;
  }
  tickUnder(x, y) {
    const far = (t) => { const [u, v] = this.toView(...t.place); return Math.hypot(u - x, v - y); };
    const near = (this.model.dial?.ticks ?? []).map((t) => [far(t), t]).sort((a, b) => a[0] - b[0])[0];
    return near && near[0] < REACH ? near[1] : null;
  }
  down(e) {
    this.canvas.setPointerCapture(e.pointerId);
    this.fingers.set(e.pointerId, [e.offsetX, e.offsetY]);
    this.far = 0;
    this.drawn = this.tool === "round" && this.fingers.size === 1 ? [this.toPhoto(e.offsetX, e.offsetY)] : null;
    if (this.drawn) { this.held = null; return; }
    const key = this.fingers.size === 1 ? this.under(e.offsetX, e.offsetY) : null;
    const p = key === null ? null : this.model.place(key);
    this.held = p && { key, x: p.x, y: p.y, at: [e.offsetX, e.offsetY], begun: false };
  }
  moved(e) {
    const before = this.fingers.get(e.pointerId);
    if (!before) return;
    const now = [e.offsetX, e.offsetY], [dx, dy] = [now[0] - before[0], now[1] - before[1]];
    this.far += Math.hypot(dx, dy);
    if (this.drawn) {
      this.fingers.set(e.pointerId, now);
      this.drawn.push(this.toPhoto(...now));
      this.draw();
      return;
    }
    if (this.fingers.size === 2) {
      const other = [...this.fingers.entries()].find(([id]) => id !== e.pointerId)[1];
      const span = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]);
      this.zoom(span(now) / Math.max(span(before), 1), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
    }
    this.fingers.set(e.pointerId, now);
    if (this.far < 5) return;
    if (this.held && this.fingers.size === 1) {
      const h = this.held;
      if (!h.begun) { this.model.choose(h.key); h.begun = true; }
      this.model.move(h.key, h.x + (now[0] - h.at[0]) / this.scale, h.y + (now[1] - h.at[1]) / this.scale, "drag");
    } else {
      const share = 1 / this.fingers.size;
      [this.x, this.y] = [this.x + dx * share, this.y + dy * share];
      this.draw();
    }
  }
  up(e) {
    const tap = this.fingers.size === 1 && this.far < 5 && e.type === "pointerup";
    this.fingers.delete(e.pointerId);
    if (this.drawn) {
      const line = this.drawn;
      this.drawn = null;
      this.draw();
      if (e.type === "pointerup") this.roundOf(line);
      return;
    }
    if (!tap) return;
    const [x, y] = this.toPhoto(e.offsetX, e.offsetY), key = this.under(e.offsetX, e.offsetY);
    if (this.tool === "look" || (this.tool === "mark" && key !== null)) {
      const tick = key === null || key === "pivot" ? this.tickUnder(e.offsetX, e.offsetY) : null;
      this.model.choose(tick ? this.model.keyOf(tick) : key);
      if (tick || typeof key === "number") this.dispatchEvent(new Event("value"));
    } else this.putAt(this.tool, x, y);
  }
  // The circle about a line that was drawn round a dial; a mere tap is none.
  roundOf(line) {
    const side = (k) => line.map((p) => p[k]), [xs, ys] = [side(0), side(1)];
    const [x, y] = [xs, ys].map((v) => (Math.min(...v) + Math.max(...v)) / 2);
    this.search(x, y, Math.max(...line.map((p) => Math.hypot(p[0] - x, p[1] - y))));
  }
  search(x, y, radius) {
    if (radius * this.scale > REACH) this.dispatchEvent(new CustomEvent("round", { detail: { x: hundredth(x), y: hundredth(y), radius: hundredth(radius) } }));
  }
  putAt(tool, x, y) {
    if (tool === "mark") { this.model.put(x, y); this.dispatchEvent(new Event("value")); }
    if (tool === "pivot") { this.model.putPivot(x, y); this.dispatchEvent(new Event("pivot")); }
    if (tool === "needle") this.model.putNeedle(x, y);
  }
  key(e) {
    const model = this.model, arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    const put = { m: "mark", p: "pivot", n: "needle" }[e.key.toLowerCase()];
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    if (arrows) {
      const p = model.chosen === null ? null : model.place(model.chosen), step = e.shiftKey ? 1 : STEP;
      if (p) { model.move(model.chosen, p.x + arrows[0] * step, p.y + arrows[1] * step, "keys"); this.reveal(model.place(model.chosen)); }
      else { this.x -= 40 * arrows[0]; this.y -= 40 * arrows[1]; this.draw(); }
    } else if (e.key.toLowerCase() === "r") this.search(...this.middle(), Math.min(this.width, this.height) / 2 / this.scale);
    else if (put) this.putAt(put, ...this.middle());
    else if (e.key === "+" || e.key === "=") this.zoom(1.25);
    else if (e.key === "-" || e.key === "−") this.zoom(0.8);
    else if (e.key === "0" && model.chosen === null) this.whole();
    else if (e.key === "." || e.key === ",") this.next(e.key === "." ? 1 : -1);
    else if (e.key === "Delete" || e.key === "Backspace") { if (model.chosen !== null) model.remove(model.chosen); }
    else if (e.key === "Escape") model.choose(null);
    else if (/^[0-9]$/.test(e.key) || e.key === "Enter") {
      if (model.chosen === null || !(typeof model.chosen === "number" || model.tickOf(model.chosen))) return;
      if (e.key !== "Enter") model.type(e.key);
      this.dispatchEvent(new Event("value"));
    } else return;
    e.preventDefault();
  }
  next(by) {
    const ticks = this.model.offered().map((t) => this.model.keyOf(t));
    const keys = [...ticks, ...this.model.now.marks.map((m) => m.key).filter((k) => !ticks.includes(k))];
    if (this.model.now.pivot) keys.push("pivot");
    if (this.model.needle) keys.push("needle");
    if (!keys.length) return;
    const i = keys.indexOf(this.model.chosen);
    const key = keys[i < 0 ? (by > 0 ? 0 : keys.length - 1) : (i + by + keys.length) % keys.length];
    this.model.choose(key);
    this.reveal(this.model.place(key));
  }
  draw() {
    const ratio = devicePixelRatio || 1, c = this.pen;
    const size = [Math.round(this.width * ratio), Math.round(this.height * ratio)];
    if (this.canvas.width !== size[0] || this.canvas.height !== size[1]) [this.canvas.width, this.canvas.height] = size;
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, this.width, this.height);
    c.imageSmoothingEnabled = this.scale < 3;
    const [w, h] = this.model.start.size;
    c.drawImage(this.image, this.x, this.y, w * this.scale, h * this.scale);
    paint(c, this.model, (x, y) => this.toView(x, y), this.scale);
    if (document.activeElement === this.canvas && this.model.chosen === null) cross(c, this.width / 2, this.height / 2, 9, "#f5f7f9");
    if (this.drawn) for (const [width, colour] of [[5, "#0b0e12b0"], [2.5, "#f0e442"]]) {
      c.beginPath();
      for (const p of this.drawn) c.lineTo(...this.toView(...p));
      [c.lineWidth, c.strokeStyle, c.lineJoin] = [width, colour, "round"];
      c.stroke();
    }
    this.magnify();
    this.dispatchEvent(new Event("drawn"));
  }
  // The magnifier stands above the finger, or the mark; below where there is no room. While a value is typed it makes way.
  magnify() {
    const { model, glass: g } = this, p = model.chosen === null ? null : model.place(model.chosen);
    const [u, v] = p ? this.toView(p.x, p.y) : [0, 0];
    const seen = p && u > 0 && v > 0 && u < this.width && v < this.height && (document.activeElement === this.canvas || this.held?.begun);
    g.style.display = seen ? "block" : "none";
    if (!seen) return;
    const over = v > 175 ? v - 165 : v + 45;
    g.style.transform = `translate(${Math.min(Math.max(u - 65, 4), this.width - 134)}px, ${Math.min(over, this.height - 134)}px)`;
    const ratio = devicePixelRatio || 1, side = 130, c = g.getContext("2d"), zoom = Math.max(GLASS, 2.5 * this.scale);
    g.width = g.height = side * ratio;
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.imageSmoothingEnabled = false;
    c.fillStyle = "#0b0e12";
    c.fillRect(0, 0, side, side);
    const [w, h] = this.model.start.size;
    c.drawImage(this.image, side / 2 - p.x * zoom, side / 2 - p.y * zoom, w * zoom, h * zoom);
    const snapped = this.model.fit?.marks.filter((m) => m.snapped) ?? [];
    for (const m of snapped) ring(c, side / 2 + (m.snapped[0] - p.x) * zoom, side / 2 + (m.snapped[1] - p.y) * zoom, 3, "#56b4e9");
    cross(c, side / 2, side / 2, 60, "#f0e442");
  }
}

function line(c, a, b, colour, width) {
  for (const [w, s] of [[width + 2.5, "#0b0e12b0"], [width, colour]]) {
    c.beginPath(); c.moveTo(...a); c.lineTo(...b); c.lineWidth = w; c.strokeStyle = s; c.stroke();
  }
}
function ring(c, x, y, r, colour) {
  for (const [w, s] of [[4.5, "#0b0e12b0"], [2, colour]]) { c.beginPath(); c.arc(x, y, r, 0, 7); c.lineWidth = w; c.strokeStyle = s; c.stroke(); }
}
function cross(c, x, y, r, colour) {
  const gap = Math.min(4, r / 3);
  for (const [u, v] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) line(c, [x + u * gap, y + v * gap], [x + u * r, y + v * r], colour, 1);
}
function words(c, text, x, y, size, colour) {
  c.font = `600 ${size}px system-ui, sans-serif`;
  [c.textAlign, c.textBaseline, c.lineJoin, c.lineWidth, c.strokeStyle, c.fillStyle] = ["center", "middle", "round", size / 4, "#0b0e12", colour];
  c.strokeText(text, x, y);
  c.fillText(text, x, y);
}

function paint(c, model, view, scale) {
  const dial = model.dial, pivot = model.now.pivot;
  const middle = dial ? dial.pivot : null;
  const outwards = (x, y, by) => {
    const [u, v] = view(x, y);
    if (!middle) return [u, v - by];
    const d = Math.hypot(x - middle[0], y - middle[1]) || 1;
    return [u + by * (x - middle[0]) / d, v + by * (y - middle[1]) / d];
  };
  const apart = dial ? Math.min(...dial.ticks.slice(1).map((t, i) => Math.hypot(t.place[0] - dial.ticks[i].place[0], t.place[1] - dial.ticks[i].place[1]))) * scale : 0;
  for (const t of dial?.ticks ?? []) {
    if (model.tickMark(t.number)) continue;
    const colour = t.doubt ? "#e69f00" : "#56b4e9", inner = [0, 1].map((k) => t.place[k] + (middle[k] - t.place[k]) * t.length);
    line(c, view(...inner), view(...t.place), colour, 1.5);
    if (t.doubt) words(c, "?", ...outwards(...t.place, 14), 12, colour);
  }
  const waiting = typeof model.chosen === "string" ? model.tickOf(model.chosen) : null;
  if (waiting) ring(c, ...view(...waiting.place), 11, "#f0e442");
  for (const m of model.now.marks) {
    const chosen = m.key === model.chosen;
    ring(c, ...view(m.x, m.y), chosen ? 9 : 6, chosen ? "#f0e442" : "#f5f7f9");
    words(c, m.value.trim() || "?", ...outwards(m.x, m.y, 24), 16, chosen ? "#f0e442" : "#f5f7f9");
  }
  if (pivot) cross(c, ...view(pivot.x, pivot.y), model.chosen === "pivot" ? 16 : 10, model.chosen === "pivot" ? "#f0e442" : "#f5f7f9");
  if (model.needle) {
    const [x, y] = view(model.needle.x, model.needle.y);
    if (pivot) line(c, view(pivot.x, pivot.y), [x, y], "#f0e442", 2);
    ring(c, x, y, 7, "#f0e442");
  }
}
