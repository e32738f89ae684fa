// Puts the page together.
import { Model } from "./model.js";
import { Stage } from "./stage.js";
import { Panel } from "./panel.js";
import { Box } from "./box.js";

const by = (id) => document.getElementById(id);
// Where the photo is still on the phone: sends it as it is, until the program has taken one.
function sent() {
  by("send").hidden = false;
  document.querySelector("main").hidden = true;
  document.body.dataset.shown = "send";
  return new Promise((done) => by("file").addEventListener("change", async () => {
    const file = by("file").files[0];
    if (!file) return;
    by("sent").textContent = `Sending ${(file.size / 1e6).toFixed(1)} MB …`;
    const told = await fetch("send", { method: "POST", headers: { "x-photo-name": encodeURIComponent(file.name) }, body: file })
      .then((a) => a.ok ? a.json() : a.text().then((error) => ({ error })))
      .catch(() => ({ error: "The program does not answer. Are phone and computer in the same network? Was it ended in the terminal?" }));
    by("sent").textContent = told.error ?? "";
    if (told.error) { by("file").value = ""; return; }
    by("send").hidden = true;
    document.querySelector("main").hidden = false;
    done();
  }));
}
const image = new Image();
const start = async () => {
  let begun = await fetch("begin").then((a) => a.json());
  if (begun.photo === null) { await sent(); begun = await fetch("begin").then((a) => a.json()); }
  image.src = "photo";
  await image.decode();
  return begun;
};
const begun = await start().catch(() => {
  by("error").textContent = "The photo did not arrive. Is the program still running in the terminal? Load the page again.";
  throw new Error("no photo");
});

const model = new Model(begun);
const stage = new Stage(by("stage"), by("glass"), image, model);
const panel = new Panel(model, stage);
const box = new Box(model, stage);

by("photo-name").textContent = begun.photo;
by("out").textContent = begun.out;
by("name").value = begun.name;
by("name").addEventListener("input", () => model.change("name", (s) => { s.name = by("name").value; }));
by("dial").addEventListener("change", () => { model.setDial(Number(by("dial").value)); stage.face(); box.open(); });
for (const radio of document.querySelectorAll("input[name=unit]")) radio.addEventListener("change", () => model.change("", (s) => { s.unit = radio.value === "other" ? by("other-unit").value.trim() : radio.value; }));
by("other-unit").addEventListener("input", () => model.change("unit", (s) => { s.unit = by("other-unit").value.trim(); }));

const tools = document.querySelectorAll("[data-tool]");
const take = (tool) => {
  stage.tool = tool;
  for (const b of tools) b.setAttribute("aria-pressed", String(b.dataset.tool === tool));
};
for (const button of tools) button.addEventListener("click", () => take(button.dataset.tool));
by("nearer").addEventListener("click", () => stage.zoom(1.4));
by("farther").addEventListener("click", () => stage.zoom(1 / 1.4));
by("whole").addEventListener("click", () => stage.whole());
by("face").addEventListener("click", () => stage.face());
by("undo").addEventListener("click", () => model.undo());
by("drop").addEventListener("click", () => { if (model.chosen !== null) model.remove(model.chosen); });
by("save").addEventListener("click", () => panel.save());
stage.addEventListener("value", () => box.open());
stage.addEventListener("round", async (e) => {
  const there = await model.round(e.detail);
  list();
  if (there) { take("look"); stage.face(); box.open(); } else if (!model.now.pivot) take("pivot");
});
// with the pivot put by hand the marks come next
stage.addEventListener("pivot", () => { if (stage.tool === "pivot") take("mark"); });
document.addEventListener("keydown", (e) => {
  if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "z" && !e.shiftKey) { e.preventDefault(); model.undo(); }
});

// undo and the start bring these back from the model
model.addEventListener("change", () => {
  if (by("name").value !== model.now.name) by("name").value = model.now.name;
  by("dial").value = String(model.now.dial);
  for (const radio of document.querySelectorAll("input[name=unit]")) radio.checked = radio.value === ([null, "C", "F"].includes(model.now.unit) ? model.now.unit : "other");
});
function list() {
  const { dials } = model.start;
  by("which").hidden = dials.length < 2;
  by("dial").replaceChildren(...dials.map((d, i) => new Option(`${String.fromCharCode(65 + i)}: ${d.ticks.length} ticks, at ${Math.round(d.pivot[0])}, ${Math.round(d.pivot[1])}`, i)));
  by("dial").value = String(model.now.dial);
}
model.say();
stage.whole();
document.body.dataset.shown = "yes";

// the search may take a while: the page is there meanwhile
const told = await fetch("found").then((a) => a.json()).catch(() => ({ dials: [] }));
const before = model.now.dial;
model.found(told.dials);
list();
if (before >= 0) {
  // one was drawn round meanwhile
} else if (told.dials.length) {
  stage.face();
  if (document.activeElement === document.body || document.activeElement === null) box.open();
} else if (!model.now.pivot) take("round");
else take("mark");
document.body.dataset.ready = "yes";
