// The list of ticks and marks, the fit, and what was written.
import { number } from "./model.js";

const by = (id) => document.getElementById(id);
const made = (tag, given = {}, ...inside) => {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(given)) if (k in e) e[k] = v; else e.setAttribute(k, v);
  e.append(...inside);
  return e;
};
const drawn = (tag, given, text = "") => {
  const e = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [k, v] of Object.entries(given)) e.setAttribute(k, v);
  e.textContent = text;
  return e;
};
const fixed = (v, n) => v === null ? "" : v.toFixed(n).replace(/^-(?=0\.?0*$)/, "").replace("-", "−");

export class Panel {
  constructor(model, stage) {
    Object.assign(this, { model, stage, all: false, listed: "" });
    by("more").addEventListener("click", () => { this.all = !this.all; this.show(); });
    model.addEventListener("change", () => { if (!this.busy) this.failed = undefined; this.show(); });
  }
  // Ticks that are listed: the long ones, those in use, or all.
  ticks() {
    const ticks = this.model.dial?.ticks ?? [];
    const few = ticks.filter((t) => t.long && !t.doubt);
    return this.all || few.length < 3 ? ticks : ticks.filter((t) => few.includes(t) || this.model.tickMark(t.number));
  }
  focusTick(tick) {
    if (!this.ticks().includes(tick)) { this.all = true; this.show(); }
    by(`tick-${tick.number}`)?.focus();
  }
  focusMark(key) { by(`mark-${key}`)?.focus(); }
  show() {
    this.list();
    const { model } = this, unit = model.now.unit ? `°${model.now.unit}` : "";
    by("undo").disabled = !model.past.length;
    by("drop").disabled = model.chosen === null;
    const p = model.chosen === null ? null : model.place(model.chosen);
    by("place").textContent = p ? `${this.called(model.chosen)} at ${fixed(p.x, 2)}, ${fixed(p.y, 2)} px` : "";
    by("status").textContent = this.status(unit);
    by("error").textContent = this.failed ?? model.error;
    by("save").disabled = !model.fit || this.busy || model.over;
    by("fit").hidden = !model.fit;
    const read = model.reads(model.needle);
    by("trial").textContent = !model.needle ? "" : !read ? "A needle here reads something when the fit stands."
      : read.beyond ? `A needle here stands ${read.beyond} (${fixed(read.angle, 2)}°).`
      : `A needle here would read ${fixed(read.value, 2)} ${unit} (${fixed(read.angle, 2)}°).`;
    if (model.fit) this.fitted(model.fit, unit, read);
  }
  called(key) {
    if (key === "pivot") return "Pivot";
    if (key === "needle") return "Needle";
    const m = this.model.mark(key);
    return m?.tick ? `Tick ${m.tick}` : "Mark";
  }
  status(unit) {
    const { model } = this, fit = model.fit;
    if (model.over) return "The dial file is written.";
    if (this.busy) return "Writing …";
    if (model.lacking()) return model.lacking();
    if (model.working) return "Fitting …";
    if (!fit) return "";
    const far = Math.max(...fit.marks.map((m) => m.residual ?? 0));
    const needle = fit.needle_reads === null ? "Its needle gave no value." : `Its needle reads ${fixed(fit.needle_reads, 1)} ${unit}: does it?`;
    return `${fit.marks.length} marks, largest distance from a tick ${fixed(far, 1)} px, seen ${fixed(fit.tilt, 0)}° off straight on. ${needle}`;
  }
  list() {
    const { model } = this, ticks = this.ticks(), own = model.now.marks.filter((m) => m.tick === null);
    const count = model.dial?.ticks.length ?? 0;
    by("lead").textContent = count
      ? `${count} ticks were found and numbered. Type the printed value beside three or more of them; leave the others empty.`
      : "No ticks were found. Use “Put a mark” on three or more printed ticks and type their values, and “Put the pivot” on the needle's axis.";
    by("more").hidden = !count || (!this.all && ticks.length === count);
    by("more").textContent = this.all ? "Show the long ticks only" : `Show all ${count} ticks`;
    const listed = JSON.stringify([model.now.dial, ticks.map((t) => t.number), own.map((m) => m.key)]);
    if (listed !== this.listed) {
      this.listed = listed;
      by("ticks").replaceChildren(...ticks.map((t) => this.field(`tick-${t.number}`, `${t.number}${t.doubt ? "?" : ""}`, `Value of tick ${t.number}`, t.doubt, (v) => model.setTick(t, v), () => this.onTick(t))),
        ...own.map((m) => this.field(`mark-${m.key}`, "mark", "Value of the mark", null, (v) => model.setValue(m.key, v), () => model.choose(m.key))));
    }
    for (const input of by("ticks").querySelectorAll("input")) {
      const m = input.id.startsWith("tick-") ? model.tickMark(Number(input.id.slice(5))) : model.mark(Number(input.id.slice(5)));
      if (input.value !== (m?.value ?? "")) input.value = m?.value ?? "";
      input.setAttribute("aria-invalid", String(input.value.trim() !== "" && number(input.value) === null));
      input.parentElement.classList.toggle("chosen", m !== undefined && m.key === model.chosen);
    }
  }
  onTick(t) {
    const m = this.model.tickMark(t.number);
    this.model.choose(m ? m.key : null);
    this.stage.reveal({ x: t.place[0], y: t.place[1] });
  }
  field(id, label, aria, doubt, typed, entered) {
    const input = made("input", { id, inputMode: "decimal", autocomplete: "off", "aria-label": aria });
    input.addEventListener("input", () => typed(input.value));
    input.addEventListener("focus", entered);
    return made("label", { className: doubt ? "doubt" : "", title: doubt ? "This stroke may be no tick of the scale." : "" }, label, input);
  }
  fitted(fit, unit, read) {
    const given = fit.marks.filter((m) => m.given);
    by("rows").replaceChildren(...given.map((m) => made("tr", {}, ...[`${fixed(m.value, 0) === fixed(m.value, 3).replace(/\.?0+$/, "") ? fixed(m.value, 0) : m.value} ${unit}`, fixed(m.angle, 2), fixed(m.sigma, 2), m.residual === null ? "no tick" : fixed(m.residual, 1)].map((t) => made("td", {}, t)))));
    by("warnings").replaceChildren(...fit.warnings.map((w) => made("li", {}, w)));
    const curve = fit.curve, [a, b] = [curve[0], curve[curve.length - 1]];
    const x = (angle) => 44 + 280 * (angle - a[0]) / (b[0] - a[0]), y = (value) => 158 - 140 * (value - a[1]) / (b[1] - a[1]);
    const parts = [drawn("polyline", { class: "line", points: curve.map((p) => `${x(p[0]).toFixed(1)},${y(p[1]).toFixed(1)}`).join(" ") })];
    for (const m of fit.marks) parts.push(drawn("circle", { class: "dot", cx: x(m.angle), cy: y(m.value), r: m.given ? 4.5 : 1.5 }));
    for (const m of given) parts.push(drawn("text", { x: 36, y: y(m.value) + 4, "text-anchor": "end" }, String(m.value)), drawn("text", { x: x(m.angle), y: 178, "text-anchor": "middle" }, `${fixed(m.angle, 0)}°`));
    if (read?.value !== undefined) parts.push(drawn("line", { class: "trial", x1: x(read.angle), x2: x(read.angle), y1: 18, y2: 158 }));
    by("curve").replaceChildren(...parts);
  }
  async save() {
    this.busy = true;
    this.failed = undefined;
    this.show();
    const told = await this.model.save();
    this.busy = false;
    this.failed = told.error;
    this.model.over = !told.error;
    this.show();
    if (told.error) return;
    for (const e of document.querySelectorAll("button, input, select")) e.disabled = true;
    by("written").textContent = told.text;
    by("done").hidden = false;
    by("done").focus();
  }
}
