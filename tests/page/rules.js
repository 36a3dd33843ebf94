// Rules of access, after WCAG 2.2: names (4.1.2, 1.1.1), contrast (1.4.3), size of targets (2.5.5: 44 px), one main heading, language,
// labels (1.3.1), nothing cut off at the side (1.4.10). Returns what breaks them.
const faults = [];
const shown = (one) => one.checkVisibility({ opacityProperty: true, visibilityProperty: true }) && one.getClientRects().length > 0;
const told = (one) => `${one.tagName.toLowerCase()}${one.id ? `#${one.id}` : ""} "${(one.innerText || one.getAttribute("aria-label") || one.name || "").trim().slice(0, 30)}"`;
const fault = (rule, one) => faults.push(`${rule}: ${told(one)}`);

if (!document.documentElement.lang) faults.push("the page says no language");
if (document.querySelectorAll("h1").length !== 1) faults.push(`${document.querySelectorAll("h1").length} main headings`);
if (!document.title.trim()) faults.push("no title");
if (document.documentElement.scrollWidth > innerWidth + 1) faults.push(`the page is ${document.documentElement.scrollWidth} wide in ${innerWidth}`);
const ids = [...document.querySelectorAll("[id]")].map((one) => one.id);
ids.filter((id, k) => ids.indexOf(id) !== k).forEach((id) => faults.push(`the id ${id} twice`));

const name = (one) => {
  const by = one.getAttribute("aria-labelledby");
  if (by) return document.getElementById(by)?.innerText ?? "";
  if (one.getAttribute("aria-label")) return one.getAttribute("aria-label");
  if (one.labels?.length) return [...one.labels].map((label) => label.innerText).join(" ");
  if (one.tagName === "IFRAME") return one.title;
  const pictures = [...one.querySelectorAll("img")].map((picture) => picture.alt).join(" ");
  return one.innerText || pictures || one.value || one.title || "";
};
const targets = [...document.querySelectorAll("button, a[href], summary, input:not([type=hidden]), select, [role=button], iframe, canvas[tabindex]")].filter(shown);
for (const one of targets) {
  if (!name(one).trim()) fault("no name", one);
  // Links within a sentence, and pieces of a drawing, are as large as they are (2.5.5 lets that be).
  const inline = one.tagName === "A" && getComputedStyle(one).display === "inline";
  if (inline || one.closest("svg") || one.matches(".skip, iframe, canvas")) continue;
  const label = one.matches("input[type=checkbox], input[type=radio]") ? one.closest("label") : null;
  const box = (label ?? one).getBoundingClientRect();
  if (box.height < 43.5 || box.width < 43.5) fault(`${box.width.toFixed(0)} × ${box.height.toFixed(0)} px`, one);
}
for (const one of document.querySelectorAll("img")) if (!one.hasAttribute("alt")) fault("a picture without words", one);
for (const one of document.querySelectorAll("svg")) {
  if (shown(one) && !one.closest("[aria-hidden=true]") && !one.getAttribute("aria-label") && !one.querySelector(":scope > title") && one.getAttribute("aria-hidden") !== "true") fault("a drawing without a name", one);
}

const number = (colour) => (colour.match(/[\d.]+/g) ?? []).map(Number);
const light = (colour) => {
  const [r, g, b] = number(colour).slice(0, 3).map((part) => (part / 255 <= 0.04045 ? part / 255 / 12.92 : ((part / 255 + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const ground = (one) => {
  for (let at = one; at; at = at.parentElement) {
    const colour = getComputedStyle(at).backgroundColor;
    if ((number(colour)[3] ?? 1) > 0.5) return colour;
  }
  return "rgb(255, 255, 255)";
};
const seen = new Set();
for (const text of document.querySelectorAll("main *, header *")) {
  if (![...text.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()) || !shown(text) || text.disabled) continue;
  const style = getComputedStyle(text);
  const isDrawn = Boolean(text.closest("svg"));
  const colour = isDrawn ? style.fill : style.color;
  const shape = isDrawn && text.parentElement.querySelector(":scope > path");
  const under = shape ? getComputedStyle(shape).fill : isDrawn ? "rgb(255, 255, 255)" : ground(text);
  const key = `${colour} ${under}`;
  if (seen.has(key) || under === "none") continue;
  seen.add(key);
  const [a, b] = [light(colour), light(under)];
  const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
  if (contrast < 4.5) fault(`contrast ${contrast.toFixed(2)} (${key})`, text);
}
// What has the focus must be seen to have it.
for (const one of targets.filter((one) => !one.disabled).slice(0, 40)) {
  one.focus({ preventScroll: true, focusVisible: true });
  if (document.activeElement !== one) continue;
  const style = getComputedStyle(one);
  const shape = one.querySelector?.("path");
  const isMarked = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  if (!isMarked && !(one.closest("svg") && shape)) fault("the focus is not seen", one);
}
document.activeElement?.blur();
return faults;
