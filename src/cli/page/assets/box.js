// The field for a value, beside its mark in the picture.
import { number } from "./model.js";

const by = (id) => document.getElementById(id);
const AWAY = 26; // css px from the mark to the field

export class Box {
  constructor(model, stage) {
    Object.assign(this, { model, stage, form: by("box"), input: by("value") });
    this.input.addEventListener("input", () => model.type(this.input.value));
    this.form.addEventListener("submit", (e) => { e.preventDefault(); this.onward(); });
    this.input.addEventListener("keydown", (e) => { if (e.key === "Escape") { e.preventDefault(); stage.canvas.focus(); } });
    model.addEventListener("change", () => this.show());
    stage.addEventListener("drawn", () => this.put());
  }
  wanted() {
    const { model } = this, key = model.chosen;
    return !model.over && (typeof key === "number" ? Boolean(model.mark(key)) : Boolean(model.tickOf(key)));
  }
  open() {
    this.show();
    if (!this.wanted()) return;
    this.stage.reveal(this.model.place(this.model.chosen));
    this.input.focus({ preventScroll: true });
    this.input.setSelectionRange(this.input.value.length, this.input.value.length);
  }
  // To the next tick that has no value yet; behind the last the field closes.
  onward() {
    const { model, stage } = this, next = model.onward();
    model.choose(next);
    if (next === null) stage.canvas.focus(); else this.open();
  }
  show() {
    const { model, input } = this, on = this.wanted(), tick = model.tickOf(model.chosen);
    this.form.hidden = !on;
    if (!on) return;
    if (input.value !== model.text()) input.value = model.text();
    this.form.dataset.tick = tick?.number ?? "";
    by("value-of").textContent = tick ? (tick.doubt ? "Value here (may be no tick)" : "Value at this tick") : "Value at this mark";
    const wrong = input.value.trim() !== "" && number(input.value) === null;
    const asked = wrong ? null : model.questionOf(number(input.value));
    input.setAttribute("aria-invalid", String(wrong || asked !== null));
    by("value-error").textContent = wrong ? "Not a number; write it like 92.5" : asked ? "Can this be right? See the question." : "";
    this.put();
  }
  // Beside the mark, inside the view, where it hides least.
  put() {
    const { model, stage, form } = this, p = this.wanted() ? model.place(model.chosen) : null;
    if (!p) return;
    const [u, v] = stage.toView(p.x, p.y), middle = model.dial?.pivot ?? (model.now.pivot ? [model.now.pivot.x, model.now.pivot.y] : null);
    const [w, h] = [form.offsetWidth, form.offsetHeight], [cx, cy] = middle ? stage.toView(...middle) : [u, v - 1];
    const d = Math.hypot(u - cx, v - cy) || 1, [dx, dy] = [(u - cx) / d, (v - cy) / d];
    const within = (at, size, room) => Math.min(Math.max(at, 4), room - size - 4);
    // the number printed at a tick stands inside or outside of it: it must stay in sight, and so must the mark
    const reach = 0.3 * Math.hypot(u - cx, v - cy), along = (by) => [u + dx * by, v + dy * by, 0.6 * reach];
    const free = [[u, v, 10], along(-reach), along(reach)];
    const beside = (ex, ey) => {
      const [left, top] = [within(u + ex * (AWAY + w / 2) - w / 2, w, stage.width), within(v + ey * (AWAY + h / 2) - h / 2, h, stage.height)];
      const gap = ([x, y, reach]) => Math.hypot(Math.max(left - x, x - left - w, 0), Math.max(top - y, y - top - h, 0)) - reach;
      return { left, top, room: Math.min(0, ...free.map(gap)) };
    };
    const places = [[-dy, dx], [dy, -dx], [1, 0], [-1, 0], [0, 1], [0, -1]].flatMap(([a, b]) => [beside(a, b), beside(2 * a, 2 * b)]);
    const { left, top } = places.reduce((best, next) => (next.room > best.room ? next : best));
    form.style.transform = `translate(${left}px, ${top}px)`;
  }
}
