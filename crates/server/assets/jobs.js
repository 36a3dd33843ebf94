// The list of jobs: cards that come after the page, and a new job from files that are dropped.
import { bring, droppable } from "./ask.js";

const waiting = [...document.querySelectorAll(".card")].filter((card) => !card.querySelector(".state"));
const seen = new IntersectionObserver((entries) => {
  for (const entry of entries.filter((entry) => entry.isIntersecting)) {
    seen.unobserve(entry.target);
    fetch(`/jobs/card?job=${encodeURIComponent(entry.target.dataset.job)}`)
      .then((response) => (response.ok ? response.text() : null))
      .then((text) => { if (text) entry.target.innerHTML = text; })
      .catch(() => {});
  }
});
waiting.forEach((card) => seen.observe(card));

const form = document.querySelector("#new");
const told = document.querySelector("#told");
const field = droppable(form.querySelector(".drop"));
field.addEventListener("change", () => {
  const names = [...field.files].map((file) => file.name);
  told.textContent = names.length ? `Chosen: ${names.join(", ")}` : "";
  if (names.length && !form.elements.name.value) form.elements.name.value = names[0].replace(/\.[^.]*$/, "");
});
form.addEventListener("submit", async (event) => {
  if (!field.files.length) return;
  event.preventDefault();
  if (!form.reportValidity()) return;
  try {
    for (const file of field.files) {
      told.textContent = `Bringing ${file.name} …`;
      const data = await bring("/new/file", { folder: form.elements.name.value, name: file.name }, file);
      const own = document.createElement("input");
      Object.assign(own, { type: "hidden", name: "file", value: data.file });
      form.append(own);
    }
    field.value = "";
    form.requestSubmit();
  } catch (error) {
    told.textContent = error.message;
  }
});
