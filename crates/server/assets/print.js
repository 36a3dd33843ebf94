// A page that is there to be printed.
document.querySelector("#print").addEventListener("click", () => print());
