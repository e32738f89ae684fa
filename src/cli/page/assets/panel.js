// What is lacking, the fit, and what was written.
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
    Object.assign(this, { model, stage });
    by("seen").addEventListener("input", () => model.look(by("seen").value));
    by("anyway").addEventListener("change", () => { model.anyway = by("anyway").checked; this.show(); });
    by("accuracy").addEventListener("input", () => { model.accuracy = by("accuracy").value; model.refit(); model.say(); });
    by("check").addEventListener("toggle", () => this.check());
    by("step").addEventListener("change", (e) => model.tellStep(Number(e.target.value)));
    model.addEventListener("change", () => { if (!this.busy) this.failed = undefined; this.show(); });
  }
  show() {
    const { model } = this, unit = { C: "°C", F: "°F" }[model.now.unit] ?? model.now.unit ?? "";
    by("undo").disabled = !model.past.length;
    by("drop").disabled = model.chosen === null || model.own(model.chosen) === null;
    const p = model.chosen === null ? null : model.place(model.chosen);
    by("place").textContent = p ? `${this.called(model.chosen)} at ${fixed(p.x, 2)}, ${fixed(p.y, 2)} px` : "";
    by("status").textContent = this.status(unit);
    by("error").textContent = this.failed ?? (model.error || model.note);
    by("lead").textContent = this.lead();
    by("looking").hidden = model.looking < 1;
    const against = model.against();
    by("seen-line").hidden = model.over || model.lacking() !== "";
    by("seen-unit").textContent = unit;
    by("seen").setAttribute("aria-invalid", String(Boolean(against)));
    by("seen-words").textContent = by("seen-line").hidden ? "" : this.compared(against, unit);
    by("seen-words").className = against ? "against" : "";
    by("save").disabled = !model.fit || against !== "" || (model.questions().length > 0 && !model.anyway) || (model.rivals !== null && model.step === null) || this.busy || model.over;
    by("accuracy").setAttribute("aria-invalid", String(model.accuracy.trim() !== "" && model.lacking().startsWith("How right")));
    by("warnings").replaceChildren(...(model.fit?.warnings ?? []).map((w) => made("li", {}, w)));
    by("questions").replaceChildren(...model.questions().map((q) => made("li", {}, q.text)));
    by("asked").hidden = !model.questions().length || model.over;
    by("anyway").checked = model.anyway;
    this.steps(unit);
    by("fit").hidden = !model.fit;
    const read = model.reads(model.needle);
    by("trial").textContent = !model.needle ? "" : !read ? "A needle here reads something when the fit stands."
      : read.beyond ? `A needle here stands ${read.beyond} (${fixed(read.angle, 2)}°).`
      : `A needle here would read ${fixed(read.value, 2)} ${unit} (${fixed(read.angle, 2)}°).`;
    if (model.fit) this.fitted(model.fit, unit, read);
    by("check").hidden = !model.fit && !model.over;
    this.check();
  }
  // What the person sees and what the fit reads. The fit's own number is told only after theirs: a look that knows it is none.
  compared(against, unit) {
    const { model } = this, reads = model.fit?.needle_reads ?? null;
    if (against) return against;
    if (model.seen.trim() === "") return against === "" ? "The needle itself gave no value in this photo: nothing to compare." : "Your eye checks the values: type what you see there.";
    return against === "" && reads !== null ? `Agreed: the needle reads ${fixed(reads, 1)} ${unit}.` : "";
  }
  // Which step the ticks count in, where two fit: asked before the file is written.
  steps(unit) {
    const { model } = this, key = String(model.rivals), box = by("step-choices");
    by("step").hidden = model.rivals === null || model.over;
    if (box.dataset.of !== key) {
      box.dataset.of = key;
      const choice = (value, text) => made("label", {}, made("input", { type: "radio", name: "step", value: String(value) }), ` ${text}`);
      box.replaceChildren(...(model.rivals ?? []).map((s) => choice(s, `${s} ${unit}`)), choice(0, "I cannot tell: leave them out, the band is wider"));
    }
    for (const e of box.querySelectorAll("input")) e.checked = model.step !== null && Number(e.value) === model.step;
  }
  // The check picture of the fit that stands, while it is looked at.
  async check() {
    const { fit } = this.model;
    if (!fit || !by("check").open || this.checked === fit) return;
    this.checked = fit;
    const told = await this.model.picture();
    if (this.checked !== fit) return;
    by("check-picture").hidden = Boolean(told.error);
    if (told.link) by("check-picture").src = told.link;
    by("check-words").textContent = told.error ?? "Every blue tick must lie on a printed mark and carry its value.";
  }
  called(key) {
    if (key === "pivot") return "Pivot";
    if (key === "needle") return "Needle";
    const tick = this.model.tickOf(key);
    return tick ? `Tick ${tick.number}` : "Mark";
  }
  status(unit) {
    const { model } = this, fit = model.fit;
    if (model.over) return "The dial file is written.";
    if (this.busy) return "Writing …";
    if (model.lacking()) return model.lacking();
    if (model.working) return "Fitting …";
    if (!fit) return "";
    const far = Math.max(...fit.marks.map((m) => m.residual ?? 0));
    const needle = fit.needle_reads === null ? " Its needle gave no value." : "";
    return `It fits: ${fit.marks.length} marks, at most ${fixed(far, 1)} px beside a tick.${needle}`;
  }
  lead() {
    const { model } = this, n = model.dial?.ticks.length ?? 0;
    if (model.looking) return "The program looks for the dial. Meanwhile you may look round, or put marks yourself.";
    if (n) return `${n} ticks were found. Type the value printed at the ringed tick, then Enter; a tick without a number is passed over with Enter. Three values are enough, more are better. Another tick: tap it. Another dial, or ticks missing: Draw round it.`;
    return model.now.pivot ? "No ticks were found. Tap the outer end of a printed tick and type its value; three or more."
      : "No dial was found. Draw round it with the finger: it is searched again, closer. Or tap Pivot and the axis that the needle turns on, then the outer ends of three or more printed ticks.";
  }
  fitted(fit, unit, read) {
    const given = fit.marks.filter((m) => m.given);
    by("rows").replaceChildren(...given.map((m) => made("tr", {}, ...[`${fixed(m.value, 0) === fixed(m.value, 3).replace(/\.?0+$/, "") ? fixed(m.value, 0) : m.value} ${unit}`, fixed(m.angle, 2), fixed(m.sigma, 2), m.residual === null ? "no tick" : fixed(m.residual, 1)].map((t) => made("td", {}, t)))));
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
    // it is there to be looked at after the page has ended
    by("check").open = true;
    await this.check();
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
