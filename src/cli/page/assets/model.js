// The marks as the person has them, with undo, and what the program makes of them. Places in photo px from the top-left corner.
const WAIT = 300; // ms after the last change before a fit is asked for
const hundredth = (v) => Math.round(v * 100) / 100;

export const number = (text) => {
  // a comma before three digits may part thousands: neither is taken
  if (/^[+\-−]?[1-9]\d{0,2},\d{3}$/.test(text.trim())) return null;
  const v = text.trim().replace(",", ".").replace("−", "-");
  return v !== "" && Number.isFinite(Number(v)) ? Number(v) : null;
};

export class Model extends EventTarget {
  constructor(start) {
    super();
    this.start = start;
    this.past = [];
    this.last = "";
    this.chosen = null; // key of a mark, "pivot", "needle", or null
    this.needle = null;
    this.fit = null;
    this.error = "";
    this.working = false;
    this.over = false; // the dial file is written
    this.looking = 1; // searches for dials under way
    this.note = ""; // what came of the last circle
    this.seen = ""; // what the person sees the needle read
    this.anyway = false; // the entries are as the dial has them, whatever is asked of them
    this.accuracy = "";
    this.rivals = null; // two steps in value that the ticks fit alike
    this.step = null; // which of them the person says it is; 0 when that cannot be told
    this.asked = 0;
    this.now = { unit: start.unit, name: start.name, dial: -1, marks: [], pivot: null, next: 1 };
  }
  // The dials, once they are found; what the person has put or found meanwhile stays.
  found(dials) {
    this.looking -= 1;
    const nearest = this.added(dials, this.start.size.map((v) => v / 2));
    if (this.now.dial < 0) this.now.dial = nearest;
    this.now.pivot ??= this.foundPivot();
    if (this.chosen === null && !this.now.marks.length) this.chosen = this.firstTick();
    this.refit();
    this.say();
  }
  // More dials for the list; the number of the one nearest to a place.
  added(dials, [x, y]) {
    const { start } = this, from = start.dials.length, far = (d) => Math.hypot(d.pivot[0] - x, d.pivot[1] - y);
    start.dials = [...start.dials, ...dials];
    const nearest = dials.map((d, i) => [far(d), from + i]).sort((a, b) => a[0] - b[0])[0];
    return nearest ? nearest[1] : -1;
  }
  // Searches again inside a circle that was drawn round a dial; true when one is there.
  async round(circle) {
    this.looking += 1;
    this.note = "";
    this.say();
    const told = await post("within", JSON.stringify(circle));
    this.looking -= 1;
    this.note = told.error ?? (told.dials.length ? "" : "No printed scale was found in there. Put the pivot and the marks by hand.");
    if (this.note) { this.say(); return false; }
    this.setDial(this.added(told.dials, [circle.x, circle.y]));
    return true;
  }
  // Ticks that are offered one after the other: the long ones that are sure; where there are few, all.
  offered() {
    const ticks = this.dial?.ticks ?? [], few = ticks.filter((t) => t.long && !t.doubt);
    return few.length < 3 ? ticks : few;
  }
  // A tick that is chosen and has no value yet is called by its number: "tick 7".
  keyOf(tick) { return this.tickMark(tick.number)?.key ?? `tick ${tick.number}`; }
  tickOf(key) {
    const n = typeof key === "string" && key.startsWith("tick ") ? Number(key.slice(5)) : typeof key === "number" ? this.mark(key)?.tick : null;
    return this.dial?.ticks.find((t) => t.number === n) ?? null;
  }
  firstTick() { const t = this.offered()[0]; return t ? this.keyOf(t) : null; }
  // The next offered tick without a value after the chosen one; null behind the last.
  onward() {
    const here = this.tickOf(this.chosen);
    if (!here) return null;
    const offered = this.offered(), at = offered.findIndex((t) => t.number >= here.number);
    // where every second long tick, say, has a number, those between are passed over
    const valued = offered.map((t, i) => [i, this.tickMark(t.number)]).filter(([, m]) => m && number(m.value) !== null).map(([i]) => i);
    const stride = offered[at] === here && valued.length > 1 && valued.at(-1) === at ? at - valued.at(-2) : 1;
    const ahead = offered.slice(at).filter((t, i) => t.number > here.number && !this.tickMark(t.number) && (i % stride === 0 || at + i === offered.length - 1));
    return ahead.length ? this.keyOf(ahead[0]) : null;
  }
  // The value of what is chosen, as typed.
  text() { return typeof this.chosen === "number" ? this.mark(this.chosen)?.value ?? "" : ""; }
  type(text) {
    const tick = this.tickOf(this.chosen);
    if (tick) this.setTick(tick, text);
    else if (typeof this.chosen === "number") this.setValue(this.chosen, text);
  }
  get dial() { return this.start.dials[this.now.dial] ?? null; }
  // Marks without a direction do not tell the pivot.
  foundPivot() {
    const told = this.dial?.ticks.some((t) => t.doubt !== "round");
    return told ? { x: this.dial.pivot[0], y: this.dial.pivot[1] } : null;
  }
  mark(key) { return this.now.marks.find((m) => m.key === key); }
  tickMark(n) { return this.now.marks.find((m) => m.tick === n); }
  say() { this.dispatchEvent(new Event("change")); }
  // One step of undo; steps of the same kind that follow each other are one.
  change(kind, edit) {
    if (kind !== this.last || kind === "") this.past.push(JSON.stringify(this.now));
    this.last = kind;
    edit(this.now);
    this.refit();
    this.say();
  }
  undo() {
    const before = this.past.pop();
    if (!before) return;
    this.now = JSON.parse(before);
    this.last = "";
    if (typeof this.chosen === "number" && !this.mark(this.chosen)) this.chosen = null;
    this.refit();
    this.say();
  }
  setTick(tick, text) {
    this.change(`tick ${tick.number}`, (s) => {
      const have = s.marks.find((m) => m.tick === tick.number);
      if (text.trim() === "") s.marks = s.marks.filter((m) => m !== have);
      else if (have) have.value = text;
      else s.marks.push({ key: s.next++, tick: tick.number, value: text, x: tick.place[0], y: tick.place[1] });
      this.chosen = this.keyOf(tick);
    });
  }
  setValue(key, text) { this.change(`value ${key}`, () => { const m = this.mark(key); if (m) m.value = text; }); }
  put(x, y) {
    const key = this.now.next;
    this.change("", (s) => { s.marks.push({ key: s.next++, tick: null, value: "", x: hundredth(x), y: hundredth(y) }); });
    this.choose(key);
    return key;
  }
  putPivot(x, y) { this.change("", (s) => { s.pivot = { x: hundredth(x), y: hundredth(y) }; }); this.choose("pivot"); }
  putNeedle(x, y) {
    const pivot = this.now.pivot, radius = this.dial?.radius ?? 0;
    // on the pivot itself a needle has no direction: it starts straight up from there
    if (pivot && Math.hypot(x - pivot.x, y - pivot.y) < 0.25 * radius) [x, y] = [pivot.x, pivot.y - 0.75 * radius];
    this.needle = { x, y };
    this.chosen = "needle";
    this.say();
  }
  remove(key) {
    if (key === "needle") { this.needle = null; this.choose(null); return; }
    this.change("", (s) => { if (key === "pivot") s.pivot = null; else s.marks = s.marks.filter((m) => m.key !== key); });
    this.choose(null);
  }
  place(key) {
    const tick = typeof key === "string" && key.startsWith("tick ") ? this.tickOf(key) : null;
    return tick ? { x: tick.place[0], y: tick.place[1] } : this.own(key);
  }
  own(key) { return key === "pivot" ? this.now.pivot : key === "needle" ? this.needle : this.mark(key) ?? null; }
  // Moves to a place; a mark taken off its tick is one of its own from then on.
  move(key, x, y, kind) {
    if (key === "needle") { this.needle = { x, y }; this.say(); return; }
    if (typeof key === "string" && key !== "pivot") return;
    this.change(`${kind} ${key}`, () => {
      const p = this.place(key);
      if (!p) return;
      [p.x, p.y] = [hundredth(x), hundredth(y)];
      if (typeof key === "number") p.tick = null;
    });
  }
  choose(key) { this.chosen = key; this.last = ""; this.say(); }
  setDial(i) {
    this.change("", (s) => { s.dial = i; s.marks = s.marks.filter((m) => m.tick === null); s.pivot = this.foundPivot(); });
    this.choose(this.firstTick());
  }
  valued() { return this.now.marks.map((m) => ({ value: number(m.value), x: m.x, y: m.y })).filter((m) => m.value !== null); }
  body() {
    const { unit, name, pivot } = this.now;
    return JSON.stringify({ unit: unit ?? "", name, marks: this.valued(), pivot: pivot ? [pivot.x, pivot.y] : null, tick_step: this.step || null, accuracy: number(this.accuracy), seen: number(this.seen), anyway: this.anyway });
  }
  // Why nothing can be fitted yet; "" when it can.
  lacking() {
    const n = this.valued().length;
    if (n < 3) return this.dial || this.now.pivot || this.looking ? `${n} of 3 or more values typed.` : "Draw round the dial, or put the pivot: the axis that the needle turns on.";
    if (!this.now.unit) return "Which unit is printed on the dial: °C, °F, or another?";
    if (this.now.name.trim() === "") return "Give the dial a name.";
    if (this.accuracy.trim() !== "" && !(number(this.accuracy) > 0)) return "How right the gauge is must be a number of degrees, or nothing.";
    return "";
  }
  refit() {
    clearTimeout(this.timer);
    const turn = ++this.asked;
    this.fit = null;
    this.error = "";
    this.working = !this.lacking() && !this.over;
    if (this.working) this.timer = setTimeout(() => this.ask(turn), WAIT);
  }
  // What the needle reads by eye changes no fit: it is only held against it again.
  look(text) {
    this.seen = text;
    if (this.fit) this.fit.disagrees = undefined;
    if (!this.lacking() && !this.over && !this.working) {
      clearTimeout(this.timer);
      const turn = ++this.asked;
      this.timer = setTimeout(() => this.ask(turn), WAIT);
    }
    this.say();
  }
  // "" when what the person sees is what the fit reads, or there is nothing to compare; null while that is not known.
  against() {
    if (this.seen.trim() === "") return this.fit?.needle_reads === null ? "" : null;
    if (number(this.seen) === null) return "That is no number; write it like 92.5.";
    return this.fit?.disagrees === undefined ? null : this.fit.disagrees ?? "";
  }
  async ask(turn) {
    const seen = this.seen, told = await post("fit", this.body());
    if (turn !== this.asked) return;
    if (seen !== this.seen) told.disagrees = undefined;
    this.working = false;
    this.error = told.error ?? "";
    // an answer holds for the question it was given to
    const asked = told.questions?.map((q) => q.text).join("\n") ?? "";
    if (asked !== this.lastAsked) [this.lastAsked, this.anyway] = [asked, false];
    this.fit = told.error ? null : told;
    // a step that was told answers for the steps it was asked of
    const rivals = told.rival_steps ?? (this.step === null ? null : this.rivals);
    if (String(rivals) !== String(this.rivals)) this.step = null;
    this.rivals = rivals;
    // what was typed while the fit was under way is held against it now
    if (seen !== this.seen) return this.look(this.seen);
    this.say();
  }
  // Which of the rival steps holds: one of them, or 0 when that cannot be told.
  tellStep(value) {
    this.step = value;
    this.refit();
    this.say();
  }
  // The check picture of the fit as a link to itself, or why there is none.
  async picture() {
    const answer = await fetch("check", { method: "POST", headers: { "Content-Type": "application/json" }, body: this.body() }).catch(() => null);
    if (!answer?.ok) return { error: answer ? await answer.text() : "The program does not answer." };
    const bytes = await answer.blob();
    return new Promise((done) => {
      const reader = new FileReader();
      reader.onload = () => done({ link: reader.result });
      reader.readAsDataURL(bytes);
    });
  }
  save() { return post("save", this.body()); }
  // What is asked of the entries; of one mark by its value.
  questions() { return this.fit?.questions ?? []; }
  questionOf(value) { return value === null ? null : this.questions().find((q) => q.value === value)?.text ?? null; }
  // What a needle through a place would read: { angle, value } or { angle, beyond }.
  reads(p) {
    if (!this.fit || !p) return null;
    const [x, y] = through(inverse(this.fit.plane), p.x, p.y);
    const curve = this.fit.curve, a = curve[0][0], b = curve[curve.length - 1][0];
    const middle = (a + b) / 2, raw = Math.atan2(x, y) * 180 / Math.PI;
    const angle = raw + 360 * Math.round((middle - raw) / 360);
    const along = (angle - a) / (b - a);
    if (along < 0) return { angle, beyond: "below the first mark" };
    if (along > 1) return { angle, beyond: "above the last mark" };
    const k = Math.min(Math.floor(along * (curve.length - 1)), curve.length - 2), f = along * (curve.length - 1) - k;
    return { angle, value: curve[k][1] + f * (curve[k + 1][1] - curve[k][1]) };
  }
}

export async function post(what, body) {
  try {
    const answer = await fetch(what, { method: "POST", headers: { "content-type": "application/json" }, body });
    if (!answer.ok) return { error: `The program refused this (${answer.status}): ${(await answer.text()).trim()}` };
    return await answer.json();
  } catch {
    return { error: "The program does not answer. Was it ended in the terminal? Start it again; nothing was written." };
  }
}

export function through(h, x, y) {
  const w = h[6] * x + h[7] * y + h[8];
  return [(h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w];
}

function inverse([a, b, c, d, e, f, g, h, i]) {
  const A = e * i - f * h, B = f * g - d * i, C = d * h - e * g, det = a * A + b * B + c * C;
  return [A, c * h - b * i, b * f - c * e, B, a * i - c * g, c * d - a * f, C, b * g - a * h, a * e - b * d].map((v) => v / det);
}
