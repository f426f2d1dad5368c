// A file can be dropped where it can be chosen; the plain input keeps it, so that the form is sent as ever.

const place = document.querySelector("[data-drop]");
const input = place.querySelector("input[type=file]");
const named = place.querySelector("[data-drop-named]");

function tell() {
  const file = input.files[0];
  named.textContent = file ? `${file.name}, ${Math.max(1, Math.round(file.size / 1024)).toLocaleString("en-US")} kB` : "";
}

function over(isOver) {
  place.classList.toggle("drop-over", isOver);
}

place.querySelector("[data-drop-words]").hidden = false;
place.addEventListener("dragover", (event) => {
  event.preventDefault();
  over(true);
});
place.addEventListener("dragleave", () => over(false));
place.addEventListener("drop", (event) => {
  event.preventDefault();
  over(false);
  if (!event.dataTransfer.files.length) return;
  input.files = event.dataTransfer.files;
  tell();
});
input.addEventListener("change", tell);
