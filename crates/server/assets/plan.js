// A search while it runs: its figures, its course, its sheets so far.
const live = document.querySelector("#live");
const over = ["done", "refused", "dropped"];
const kind = live?.dataset.kind ?? "";

if (live && !over.includes(live.dataset.phase)) {
  const events = new EventSource(`/plan/watch?job=${encodeURIComponent(live.dataset.job)}&kind=${kind}`);
  events.addEventListener("message", (event) => {
    const told = JSON.parse(event.data);
    show(told);
    if (told.over) {
      events.close();
      if (told.phase === "done") location.reload();
      else location.reload();
    }
  });
} else if (live && !kind) {
  fetch(`/plan/state?job=${encodeURIComponent(live.dataset.job)}`).then((response) => response.json()).then(show).catch(() => {});
}

function show(told) {
  for (const id of ["stage", "net", "yield", "least", "laid"]) {
    const place = document.querySelector(`#${id}`);
    if (place && place.textContent !== told[id]) place.textContent = told[id];
  }
  const share = document.querySelector("#share");
  if (share) share.value = told.share;
  for (const { glass, html } of told.sheets) {
    let place = document.querySelector(`#sheets [data-glass="${CSS.escape(glass)}"]`);
    if (!place) {
      place = document.createElement("div");
      place.dataset.glass = glass;
      document.querySelector("#sheets").append(place);
    }
    place.innerHTML = html;
  }
  draw(told.course, told.least_number);
}

// Net cost and yield against time, each between its own bounds.
function draw(course, least) {
  const picture = document.querySelector("#course");
  if (!picture || !course.length) return;
  const end = Math.max(1, course.at(-1)[0]);
  const nets = course.map((point) => point[1]).concat(least ?? []);
  const top = Math.max(...nets) || 1;
  const x = (t) => 10 + (580 * t) / end;
  const net = (v) => 160 - (150 * v) / top;
  const steps = (value) => {
    let line = "";
    course.forEach((point, k) => {
      line += k ? `H${x(point[0]).toFixed(1)}V${value(point).toFixed(1)}` : `M${x(point[0]).toFixed(1)} ${value(point).toFixed(1)}`;
    });
    return `${line}H590`;
  };
  const line = (d, dash, width) => `<path d="${d}" fill="none" stroke="#111" stroke-width="${width}" vector-effect="non-scaling-stroke" stroke-dasharray="${dash}"/>`;
  picture.innerHTML = line("M10 160H590", "", 1)
    + line(steps((point) => net(point[1])), "", 2)
    + line(steps((point) => 160 - 150 * point[2]), "8 5", 1.5)
    + (least ? line(`M10 ${net(least).toFixed(1)}H590`, "2 4", 1.5) : "");
}
