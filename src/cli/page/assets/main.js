// Puts the page together.
import { Model } from "./model.js";
import { Stage } from "./stage.js";
import { Panel } from "./panel.js";

const by = (id) => document.getElementById(id);
const image = new Image();
image.src = "photo";
const [found] = await Promise.all([fetch("found").then((a) => a.json()), image.decode()]).catch(() => {
  by("error").textContent = "The photo did not arrive. Is the program still running in the terminal? Load the page again.";
  throw new Error("no photo");
});

const model = new Model(found);
const stage = new Stage(by("stage"), by("glass"), image, model);
const panel = new Panel(model, stage);

by("photo-name").textContent = found.photo;
by("out").textContent = found.out;
by("name").value = found.name;
by("name").addEventListener("input", () => model.change("name", (s) => { s.name = by("name").value; }));
by("which").hidden = found.dials.length < 2;
by("dial").replaceChildren(...found.dials.map((d, i) => new Option(`${String.fromCharCode(65 + i)}: ${d.ticks.length} ticks, at ${Math.round(d.pivot[0])}, ${Math.round(d.pivot[1])}`, i)));
by("dial").addEventListener("change", () => { model.setDial(Number(by("dial").value)); stage.face(); });
for (const radio of document.querySelectorAll("input[name=unit]")) radio.addEventListener("change", () => model.change("", (s) => { s.unit = radio.value; }));

const tools = document.querySelectorAll("[data-tool]");
for (const button of tools) button.addEventListener("click", () => {
  stage.tool = button.dataset.tool;
  for (const b of tools) b.setAttribute("aria-pressed", String(b === button));
});
by("nearer").addEventListener("click", () => stage.zoom(1.4));
by("farther").addEventListener("click", () => stage.zoom(1 / 1.4));
by("whole").addEventListener("click", () => stage.whole());
by("face").addEventListener("click", () => stage.face());
by("undo").addEventListener("click", () => model.undo());
by("drop").addEventListener("click", () => { if (model.chosen !== null) model.remove(model.chosen); });
by("save").addEventListener("click", () => panel.save());
stage.addEventListener("tick", (e) => panel.focusTick(e.detail));
stage.addEventListener("put", (e) => { if (document.activeElement !== by("stage")) panel.focusMark(e.detail); });
document.addEventListener("keydown", (e) => {
  if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "z" && !e.shiftKey) { e.preventDefault(); model.undo(); }
});

// undo and the start bring these back from the model
model.addEventListener("change", () => {
  if (by("name").value !== model.now.name) by("name").value = model.now.name;
  by("dial").value = String(model.now.dial);
  for (const radio of document.querySelectorAll("input[name=unit]")) radio.checked = radio.value === model.now.unit;
});
model.refit();
model.say();
stage.face();
document.body.dataset.ready = "yes";
