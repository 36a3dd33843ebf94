// A sheet: its map to zoom and walk over, and its breaks one by one with their place kept.
const view = document.querySelector("#view");
const map = view.querySelector("img");
let scale = 1, left = 0, top_ = 0, fit = 1;

function place() {
  map.style.width = `${fit * scale * 100}%`;
  map.style.transform = `translate(${left}px, ${top_}px)`;
}
function zoom(by, x = view.clientWidth / 2, y = view.clientHeight / 2) {
  const next = Math.min(24, Math.max(0.5, scale * by));
  left = x - ((x - left) * next) / scale;
  top_ = y - ((y - top_) * next) / scale;
  scale = next;
  place();
}
function whole() {
  const wide = map.naturalWidth || 1, high = map.naturalHeight || 1;
  fit = Math.min(1, (view.clientHeight * wide) / (high * view.clientWidth));
  [scale, left, top_] = [1, (view.clientWidth * (1 - fit)) / 2, 0];
  place();
}
if (map.complete) whole();
map.addEventListener("load", whole);
addEventListener("resize", whole);
document.querySelectorAll("[data-zoom]").forEach((button) => {
  button.addEventListener("click", () => (Number(button.dataset.zoom) ? zoom(Number(button.dataset.zoom)) : whole()));
});
view.addEventListener("wheel", (event) => {
  event.preventDefault();
  zoom(event.deltaY < 0 ? 1.15 : 0.87, event.offsetX, event.offsetY);
}, { passive: false });
const touches = new Map();
view.addEventListener("pointerdown", (event) => { touches.set(event.pointerId, event); view.setPointerCapture(event.pointerId); });
view.addEventListener("pointermove", (event) => {
  const before = touches.get(event.pointerId);
  if (!before) return;
  if (touches.size === 1) {
    left += event.clientX - before.clientX;
    top_ += event.clientY - before.clientY;
    place();
  } else {
    const other = [...touches.entries()].find(([id]) => id !== event.pointerId)[1];
    const far = (a, b) => Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY) || 1;
    const box = view.getBoundingClientRect();
    zoom(far(event, other) / far(before, other), (event.clientX + other.clientX) / 2 - box.left, (event.clientY + other.clientY) / 2 - box.top);
  }
  touches.set(event.pointerId, event);
});
for (const kind of ["pointerup", "pointercancel"]) view.addEventListener(kind, (event) => touches.delete(event.pointerId));
view.addEventListener("keydown", (event) => {
  const move = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] }[event.key];
  if (move) { left += move[0]; top_ += move[1]; place(); }
  else if (event.key === "+" || event.key === "=") zoom(1.3);
  else if (event.key === "-") zoom(0.77);
  else return;
  event.preventDefault();
  event.stopPropagation();
});

const section = document.querySelector("#breaks");
const { job, map: number } = section.dataset;
const data = await (await fetch(`/sheet/breaks?job=${encodeURIComponent(job)}&map=${number}`)).json();
const key = `cullet ${job} ${number} ${data.plan}`;
const kept = () => { try { return JSON.parse(localStorage.getItem(key)) ?? {}; } catch { return {}; } };
let { at = 0, ticked = [] } = kept();
ticked = new Set(ticked);
const keep = () => { try { localStorage.setItem(key, JSON.stringify({ at, ticked: [...ticked] })); } catch { /* it is only a place */ } };
const words = document.querySelector("#words"), hand = document.querySelector("#hand"), where = document.querySelector("#where");
const next = document.querySelector("#next"), before = document.querySelector("#before"), ticks = document.querySelector("#ticks"), after = document.querySelector("#after");

data.pieces.forEach((piece, k) => {
  const item = document.createElement("li");
  const label = document.createElement("label");
  label.className = "tick";
  const box = document.createElement("input");
  box.type = "checkbox";
  box.checked = ticked.has(k);
  box.addEventListener("change", () => { box.checked ? ticked.add(k) : ticked.delete(k); keep(); tell(); });
  label.append(box, ` ${piece.name}`);
  item.append(label);
  ticks.append(item);
});

function element(name, attributes, text) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}
function tell() {
  where.textContent = `Break ${Math.min(at + 1, data.steps.length)} of ${data.steps.length}; ${ticked.size} of ${data.pieces.length} pieces in hand`;
}
function show() {
  at = Math.max(0, Math.min(at, data.steps.length));
  const step = data.steps[at];
  before.disabled = at === 0;
  next.disabled = !step;
  next.hidden = !step;
  after.hidden = Boolean(step);
  hand.toggleAttribute("hidden", !step);
  hand.replaceChildren();
  if (step) {
    words.textContent = step.words;
    hand.setAttribute("viewBox", step.view.join(" "));
    hand.append(element("path", { class: "glass", d: step.hand }), element("path", { class: "off", d: step.off }));
    for (const k of step.inside) {
      const piece = data.pieces[k];
      hand.append(element("path", { d: piece.path, fill: "none", stroke: "#555", "stroke-width": "1", "vector-effect": "non-scaling-stroke" }));
      hand.append(element("text", { x: piece.x, y: piece.y, "font-size": piece.size }, piece.number));
    }
    hand.append(element("path", { class: "score", d: step.score }));
  } else {
    words.textContent = data.steps.length ? "This sheet is broken out. Grind what is left, and write the tags on what is kept." : "Nothing is to be broken here.";
  }
  tell();
}
function tick(list, on) {
  for (const k of list) {
    on ? ticked.add(k) : ticked.delete(k);
    ticks.children[k].querySelector("input").checked = on;
  }
}
function go(by) {
  if (by > 0 && data.steps[at]) tick(data.steps[at].free, true);
  if (by < 0 && data.steps[at - 1]) tick(data.steps[at - 1].free, false);
  at += by;
  keep();
  show();
}
next.addEventListener("click", () => go(1));
before.addEventListener("click", () => go(-1));
document.addEventListener("keydown", (event) => {
  if (event.target.matches("input,select,textarea,button,a,summary") || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "ArrowRight" || event.key === " " || event.key === "PageDown") go(1);
  else if (event.key === "ArrowLeft" || event.key === "PageUp") go(-1);
  else return;
  event.preventDefault();
});
// The screen stays awake where the browser can be asked.
const awake = () => navigator.wakeLock?.request("screen").catch(() => {});
document.addEventListener("visibilitychange", () => { if (!document.hidden) awake(); });
next.addEventListener("click", awake, { once: true });
show();
