// Asking the program: forms and files, and what it answers.

/** Sends fields as a form does; gives the answer's data, or throws what is wrong in words. */
export async function send(path, fields) {
  const form = new URLSearchParams();
  for (const [name, value] of Object.entries(fields)) form.append(name, value);
  return answered(await fetch(path, { method: "POST", body: form }));
}

/** Sends one file as it is. */
export async function bring(path, fields, file) {
  const query = new URLSearchParams(fields);
  const headers = { "Content-Type": "application/octet-stream" };
  return answered(await fetch(`${path}?${query}`, { method: "POST", headers, body: file }));
}

async function answered(response) {
  const kind = response.headers.get("Content-Type") ?? "";
  const data = kind.startsWith("application/json") ? await response.json() : { problem: [await response.text()] };
  if (response.ok) return data;
  const error = new Error((data.problem ?? ["That could not be done."]).join("\n"));
  error.status = response.status;
  throw error;
}

/** Lets files be dropped on a label with a file field in it. */
export function droppable(label) {
  const field = label.querySelector("input[type=file]");
  for (const kind of ["dragover", "dragenter"]) {
    label.addEventListener(kind, (event) => { event.preventDefault(); label.classList.add("over"); });
  }
  for (const kind of ["dragleave", "drop"]) {
    label.addEventListener(kind, () => label.classList.remove("over"));
  }
  label.addEventListener("drop", (event) => {
    event.preventDefault();
    field.files = event.dataTransfer.files;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  });
  return field;
}
