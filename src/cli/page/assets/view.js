// Leaves a photo out with a reason, or counts it again; the page is then shown anew at the same place.
const dialog = document.createElement("dialog");
dialog.innerHTML = '<form method="dialog"><label for="why">Why does this photo not count? The reason is kept, and every result tells it.</label><input id="why" maxlength="200" autocomplete="off" required><p id="trouble" role="alert"></p><p><button type="submit" id="go">Leave it out</button><button type="button" id="back">Not now</button></p></form>';
document.body.append(dialog);
const by = (id) => document.getElementById(id);
let photo = null;

async function mark(reason) {
  const told = await fetch("mark", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ photo, reason }) })
    .then((a) => a.ok ? a.json() : a.text().then((error) => ({ error })))
    .catch(() => ({ error: "The program does not answer. Was it ended in the terminal?" }));
  if (!told.error) { location.hash = `photo-${photo + 1}`; location.reload(); }
  return told.error;
}
for (const button of document.querySelectorAll("[data-photo]")) button.addEventListener("click", async () => {
  photo = Number(button.dataset.photo);
  if (button.hasAttribute("data-back")) { const wrong = await mark(""); if (wrong) alert(wrong); return; }
  by("trouble").textContent = "";
  dialog.showModal();
  by("why").focus();
});
by("back").addEventListener("click", () => dialog.close());
dialog.querySelector("form").addEventListener("submit", async (e) => {
  e.preventDefault();
  const wrong = await mark(by("why").value);
  if (wrong) by("trouble").textContent = wrong; else dialog.close();
});
document.body.dataset.ready = "yes";
