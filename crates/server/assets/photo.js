// An offcut from a photo: marks and corners are touched here; the picture goes nowhere.
import { send, droppable } from "./ask.js";

const by = (id) => document.querySelector(`#${id}`);
const setup = by("setup"), settings = by("settings"), canvas = by("picture"), loupe = by("loupe"), ask = by("ask");
const laid = JSON.parse(setup.dataset.marks);
const photo = droppable(setup.querySelector(".drop"));
let image = null, marks = [], corners = [], length = [], stage = "marks";

const places = () => {
  const own = setup.elements.own.value.split(";").map((row) => row.trim().split(/[\s]+/).map((word) => Number(word.replace(",", "."))));
  const good = own.filter((row) => row.length === 2 && row.every(Number.isFinite));
  return good.length ? good : laid[setup.elements.laid.value];
};

photo.addEventListener("change", async () => {
  if (!photo.files[0]) return;
  try {
    image = await createImageBitmap(photo.files[0], { imageOrientation: "from-image" });
  } catch {
    by("work").hidden = false;
    ask.textContent = "This picture cannot be shown. Save it as JPEG or PNG.";
    return;
  }
  [canvas.width, canvas.height] = [image.width, image.height];
  [marks, corners, length, stage] = [[], [], [], "marks"];
  by("work").hidden = false;
  tell();
});
setup.addEventListener("change", (event) => { if (event.target !== photo) { marks = []; stage = "marks"; if (image) tell(); } });

const list = () => ({ marks, corners, length })[stage];
function last() {
  const points = list().filter(Boolean);
  return points.at(-1);
}

function tell() {
  const all = places();
  if (stage === "marks" && marks.length >= all.length) stage = "corners";
  const seen = marks.filter(Boolean).length;
  ask.textContent = {
    marks: `Touch the middle of mark ${marks.length + 1} of ${all.length}.`,
    corners: `${seen} marks touched. Now the corners of the offcut, one after the other round it: ${corners.length} so far.`,
    length: length.length < 2 ? "Touch both ends of a length that you can check with a rule." : "Compare the length below with a rule.",
  }[stage];
  by("skip").hidden = stage !== "marks";
  by("corners").hidden = stage === "corners" || seen < 6;
  by("check").hidden = stage === "length" || seen < 6;
  draw();
  if (seen >= 6) measure();
}

function draw() {
  const pen = canvas.getContext("2d");
  pen.drawImage(image, 0, 0);
  const unit = canvas.width / 400;
  pen.lineWidth = unit;
  pen.font = `bold ${9 * unit}px sans-serif`;
  const cross = ([x, y], words) => {
    for (const [colour, width] of [["#fff", 2.4 * unit], ["#003b8e", unit]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.beginPath();
      pen.moveTo(x - 6 * unit, y); pen.lineTo(x + 6 * unit, y);
      pen.moveTo(x, y - 6 * unit); pen.lineTo(x, y + 6 * unit);
      pen.stroke();
    }
    pen.lineWidth = 2.4 * unit;
    pen.strokeStyle = "#fff";
    pen.strokeText(words, x + 4 * unit, y - 4 * unit);
    pen.fillStyle = "#003b8e";
    pen.fillText(words, x + 4 * unit, y - 4 * unit);
  };
  marks.forEach((point, k) => point && cross(point, String(k + 1)));
  if (corners.length > 1) {
    for (const [colour, width] of [["#fff", 3 * unit], ["#a3241b", 1.2 * unit]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.beginPath();
      corners.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
      pen.closePath();
      pen.stroke();
    }
  }
  corners.forEach((point, k) => cross(point, `c${k + 1}`));
  length.forEach((point) => cross(point, "|"));
  const point = last();
  const glass = loupe.getContext("2d");
  glass.fillStyle = "#fff";
  glass.fillRect(0, 0, loupe.width, loupe.height);
  if (!point) return;
  glass.imageSmoothingEnabled = false;
  const half = 22;
  glass.drawImage(image, point[0] - half, point[1] - half, 2 * half, 2 * half, 0, 0, loupe.width, loupe.height);
  glass.strokeStyle = "#a3241b";
  glass.beginPath();
  glass.moveTo(0, 110); glass.lineTo(220, 110); glass.moveTo(110, 0); glass.lineTo(110, 220);
  glass.stroke();
}

canvas.addEventListener("click", (event) => {
  if (!image) return;
  const box = canvas.getBoundingClientRect();
  const scale = Math.min(box.width / canvas.width, box.height / canvas.height);
  const [left, top] = [(box.width - canvas.width * scale) / 2, (box.height - canvas.height * scale) / 2];
  const point = [(event.clientX - box.left - left) / scale, (event.clientY - box.top - top) / scale];
  if (stage === "length" && length.length >= 2) length = [];
  list().push(point);
  tell();
});
function move(x, y) {
  const point = last();
  if (!point) return;
  point[0] += x;
  point[1] += y;
  tell();
}
canvas.addEventListener("keydown", (event) => {
  const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (!by) return;
  event.preventDefault();
  const fast = event.shiftKey ? 10 : 1;
  if (!last()) list().push([canvas.width / 2, canvas.height / 2]);
  move(by[0] * fast, by[1] * fast);
});
document.querySelectorAll("[data-x]").forEach((button) => button.addEventListener("click", () => move(Number(button.dataset.x), Number(button.dataset.y))));
by("back").addEventListener("click", () => {
  if (!list().length && stage !== "marks") stage = "marks";
  list().pop();
  tell();
});
by("skip").addEventListener("click", () => { marks.push(null); tell(); });
by("corners").addEventListener("click", () => { stage = "corners"; tell(); });
by("check").addEventListener("click", () => { stage = "length"; length = []; tell(); });
settings.addEventListener("change", () => image && tell());
settings.addEventListener("submit", (event) => event.preventDefault());

let wanted = 0;
async function measure() {
  const mine = (wanted += 1);
  const all = places();
  const touched = marks.map((point, k) => point && [...point, ...all[k]].join(" ")).filter(Boolean);
  const fields = {
    marks: touched.join(";"), size: `${canvas.width} ${canvas.height}`,
    corners: corners.length >= 3 ? corners.map((point) => point.join(" ")).join(";") : "",
    length: length.length === 2 ? length.map((point) => point.join(" ")).join(";") : "",
    thickness: settings.elements.thickness.value, height: settings.elements.height.value, margin: settings.elements.margin.value,
  };
  by("result").hidden = false;
  try {
    const told = await send("/rack/photo/measure", fields);
    if (mine !== wanted) return;
    by("residual").textContent = told.residual + (told.good ? "" : " That is much: touch the marks again, or take another photo from farther away.");
    by("length").textContent = [told.size, told.length].filter(Boolean).join(". ");
    const form = by("result").querySelector("form");
    form.elements.outline.value = told.outline ?? "";
    form.querySelector("button").disabled = !told.outline;
    const shape = by("shape");
    shape.replaceChildren();
    if (told.paths) {
      shape.setAttribute("viewBox", told.view);
      told.paths.forEach((d, k) => {
        const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
        const attributes = { d, fill: k ? "#eef3f5" : "none", stroke: "#111", "stroke-width": k ? 2 : 1, "vector-effect": "non-scaling-stroke", "stroke-dasharray": k ? "" : "5 4" };
        for (const [name, value] of Object.entries(attributes)) path.setAttribute(name, value);
        shape.append(path);
      });
    }
  } catch (error) {
    if (mine !== wanted) return;
    by("residual").textContent = error.message;
    by("result").querySelector("form button").disabled = true;
  }
}
