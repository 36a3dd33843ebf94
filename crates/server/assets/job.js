// A job: pieces picked and given glass by touch, drawing over them, or key.
import { send, bring, droppable } from "./ask.js";

const palette = document.querySelector("#palette");
const forms = new Map([...document.querySelectorAll("form.piece")].map((form) => [form.dataset.panel, form]));
const first = document.querySelector("input[name=digest]");
let digest = first?.value;
const job = document.querySelector("input[name=job]")?.value;
const brush = () => palette?.querySelector(":checked")?.value ?? "";
const tintOf = () => palette?.querySelector(":checked")?.dataset.tint;

palette?.addEventListener("change", () => document.body.classList.toggle("painting", brush() !== ""));

function picked(panel) {
  return [...panel.querySelectorAll('.piece[aria-pressed="true"]')];
}

function show(panel) {
  const form = forms.get(panel.dataset.panel);
  if (!form) return;
  const pieces = picked(panel);
  form.hidden = pieces.length === 0;
  form.elements.numbers.value = pieces.map((piece) => piece.dataset.number).join("\u001f");
  form.querySelector(".picked").textContent = pieces.map((piece) => piece.dataset.number).join(", ");
  const common = (name) => (new Set(pieces.map((piece) => piece.dataset[name])).size === 1 ? pieces[0].dataset[name] : "");
  const [bevel, nose] = common("bevel").split("/");
  const values = { grain: common("grain"), bevel, nose: nose ?? "", spares: common("spares"), lot: common("lot"), number: common("number") };
  for (const [name, value] of Object.entries(values)) {
    const field = form.elements[name];
    if (!field) continue;
    // What was typed stays while more pieces are picked.
    if (pieces.length > 1 && field.value !== (field.dataset.was ?? field.value)) continue;
    field.value = value ?? "";
    field.dataset.was = field.value;
    field.disabled = name === "number" && pieces.length !== 1;
  }
}

// What was left alone is not said: several pieces may differ in it.
for (const form of forms.values()) {
  form.addEventListener("submit", () => {
    const bevel = form.elements.bevel;
    const nose = form.elements.nose;
    if (nose.value !== nose.dataset.was) bevel.dataset.was = "\u0000";
    for (const field of form.querySelectorAll(".fields input")) {
      if (field.name !== "nose" && field.value === field.dataset.was) field.disabled = true;
    }
    if (bevel.disabled) nose.disabled = true;
    setTimeout(() => form.querySelectorAll("input").forEach((field) => { field.disabled = false; }));
  });
  for (const button of form.querySelectorAll("[data-turn]")) {
    button.addEventListener("click", () => {
      const field = form.elements.grain;
      const turned = (Number.parseFloat(field.value.replace(",", ".")) || (field.value === "" ? 90 : 0)) + Number(button.dataset.turn);
      field.value = String(((turned + 540) % 360) - 180);
      const panel = document.querySelector(`svg.panel[data-panel="${CSS.escape(form.dataset.panel)}"]`);
      for (const piece of picked(panel)) turnArrow(piece, Number(field.value));
    });
  }
}

function turnArrow(piece, degrees) {
  const arrow = piece.querySelector(".arrow");
  const number = piece.querySelector(".number");
  if (!arrow) return;
  const by = Number(piece.dataset.grain || 90) - degrees;
  arrow.setAttribute("transform", `rotate(${by} ${number.getAttribute("x")} ${number.getAttribute("y")})`);
}

function paint(piece, glass) {
  const shape = piece.firstElementChild;
  piece.dataset.glass = glass;
  shape.setAttribute("class", `g${tintOf()}`);
  piece.querySelector(".code").textContent = glass;
  const label = piece.getAttribute("aria-label").split(", ");
  label[1] = glass;
  piece.setAttribute("aria-label", label.join(", "));
}

// The way of the grain, for pieces that were given another glass: as the page would draw it now.
async function redraw(given) {
  if (!given.length) return;
  const text = await fetch(location.href).then((response) => (response.ok ? response.text() : ""));
  const page = new DOMParser().parseFromString(text, "text/html");
  for (const { panel, numbers } of given) {
    for (const number of numbers) {
      const css = `svg.panel[data-panel="${CSS.escape(panel)}"] .piece[data-number="${CSS.escape(number)}"]`;
      const [piece, fresh] = [document.querySelector(css), page.querySelector(css)];
      if (!piece || !fresh) continue;
      piece.querySelector(".arrow")?.remove();
      const arrow = fresh.querySelector(".arrow");
      if (arrow) piece.firstElementChild.after(document.importNode(arrow, true));
      piece.dataset.grain = fresh.dataset.grain;
    }
  }
}

const asked = [];
let isAsking = false;
async function give(panel, numbers, glass) {
  asked.push({ panel, numbers, glass });
  if (isAsking) return;
  isAsking = true;
  const saved = document.querySelector("#saved");
  const given = [];
  while (asked.length) {
    const one = asked.shift();
    saved.textContent = "Saving …";
    try {
      const fields = { by: "script", job, digest, what: "glass", panel: one.panel, numbers: one.numbers.join("\u001f"), glass: one.glass };
      const data = await send("/job/edit", fields);
      digest = data.digest;
      document.querySelectorAll("input[name=digest]").forEach((field) => { field.value = digest; });
      document.querySelector("#back").disabled = !data.back;
      document.querySelector("#forth").disabled = !data.forth;
      document.querySelector("#told").outerHTML = data.told;
      saved.textContent = "Saved";
      given.push(one);
    } catch (error) {
      asked.length = 0;
      saved.textContent = error.message;
      if (error.status === 409) late(one);
      else setTimeout(() => location.reload(), 4000);
    }
  }
  isAsking = false;
  await redraw(given).catch(() => {});
}

// Somebody changed the job: mine on top of theirs, or theirs alone.
function late(one) {
  const saved = document.querySelector("#saved");
  const add = (words, act) => {
    const button = document.createElement("button");
    button.className = "quiet";
    button.textContent = words;
    button.addEventListener("click", act);
    saved.append(" ", button);
  };
  saved.textContent = "Somebody has changed this job meanwhile.";
  add("Give the glass on the job as it is now", async () => {
    await send("/job/edit", { by: "script", job, digest: "now", what: "glass", panel: one.panel, numbers: one.numbers.join("\u001f"), glass: one.glass }).catch(() => {});
    location.reload();
  });
  add("Leave it out and look", () => location.reload());
}

// Words too small to be read are not drawn: of two thousand pieces they cost more than all else.
const LEAST = 5;
function legible(panel) {
  const box = panel.viewBox.baseVal;
  const scale = Math.min(panel.clientWidth / box.width, panel.clientHeight / box.height);
  for (const words of panel.querySelectorAll("text.code, text.more")) {
    words.style.display = Number(words.getAttribute("font-size")) * scale < LEAST ? "none" : "";
  }
}
const sized = new ResizeObserver((entries) => entries.forEach((entry) => legible(entry.target)));

for (const panel of document.querySelectorAll("svg.panel")) {
  sized.observe(panel);
  const pieces = [...panel.querySelectorAll(".piece")];
  if (!forms.has(panel.dataset.panel)) continue;
  pieces[0]?.setAttribute("tabindex", "0");
  let drawn = null;
  const touch = (piece) => {
    if (!brush()) {
      piece.setAttribute("aria-pressed", String(piece.getAttribute("aria-pressed") !== "true"));
      drawn?.add(piece);
      show(panel);
    } else if (drawn ? !drawn.has(piece) : true) {
      (drawn ?? new Set()).add(piece);
      paint(piece, brush());
    }
  };
  const at = (event) => document.elementFromPoint(event.clientX, event.clientY)?.closest?.(".piece");
  panel.addEventListener("pointerdown", (event) => {
    const piece = at(event);
    if (!piece || !panel.contains(piece) || event.button > 0) return;
    drawn = new Set();
    touch(piece);
    if (brush()) panel.setPointerCapture(event.pointerId);
  });
  panel.addEventListener("pointermove", (event) => {
    // A finger that moves scrolls, unless it gives glass.
    if (!drawn || (!brush() && event.pointerType !== "mouse")) return;
    const steps = event.getCoalescedEvents?.() ?? [];
    for (const step of steps.length ? steps : [event]) {
      const piece = at(step);
      if (piece && panel.contains(piece) && !drawn.has(piece)) touch(piece);
    }
  });
  const end = () => {
    if (drawn?.size && brush()) give(panel.dataset.panel, [...drawn].map((piece) => piece.dataset.number), brush());
    drawn = null;
  };
  panel.addEventListener("pointerup", end);
  panel.addEventListener("pointercancel", end);
  panel.addEventListener("keydown", (event) => {
    const here = pieces.indexOf(event.target.closest(".piece"));
    if (here < 0) return;
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (step) {
      const next = pieces[(here + step + pieces.length) % pieces.length];
      pieces[here].setAttribute("tabindex", "-1");
      next.setAttribute("tabindex", "0");
      next.focus();
    } else if (event.key === "Enter" || event.key === " ") {
      if (brush()) {
        paint(pieces[here], brush());
        give(panel.dataset.panel, [pieces[here].dataset.number], brush());
      } else {
        touch(pieces[here]);
      }
    } else {
      return;
    }
    event.preventDefault();
  });
}

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.target.matches("input,select,textarea")) return;
  event.preventDefault();
  document.querySelector(event.shiftKey ? "#forth" : "#back")?.click();
});

for (const form of document.querySelectorAll("form.redraw")) {
  const field = droppable(form.querySelector(".drop"));
  const told = form.querySelector(".told");
  const take = async (event) => {
    event.preventDefault();
    const file = field.files[0];
    if (!file) return;
    told.textContent = `Bringing ${file.name} …`;
    try {
      await bring("/job/redraw", { job, digest, panel: form.dataset.panel, name: file.name }, file);
      location.reload();
    } catch (error) {
      told.textContent = error.message;
    }
  };
  form.addEventListener("submit", take);
}
