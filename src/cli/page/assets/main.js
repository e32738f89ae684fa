// Puts the page together.
import { Model } from "./model.js";
import { Stage } from "./stage.js";
import { Panel } from "./panel.js";
import { Box } from "./box.js";

const by = (id) => document.getElementById(id);
const image = new Image();
image.src = "photo";
const [begun] = await Promise.all([fetch("begin").then((a) => a.json()), image.decode()]).catch(() => {
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
model.say();
stage.whole();
document.body.dataset.shown = "yes";

// the search may take a while: the page is there meanwhile
const told = await fetch("found").then((a) => a.json()).catch(() => ({ dials: [] }));
const dials = told.dials;
model.found(dials);
by("which").hidden = dials.length < 2;
by("dial").replaceChildren(...dials.map((d, i) => new Option(`${String.fromCharCode(65 + i)}: ${d.ticks.length} ticks, at ${Math.round(d.pivot[0])}, ${Math.round(d.pivot[1])}`, i)));
by("dial").value = String(model.now.dial);
if (dials.length) {
  stage.face();
  if (document.activeElement === document.body || document.activeElement === null) box.open();
} else if (!model.now.pivot) take("pivot");
else take("mark");
document.body.dataset.ready = "yes";
