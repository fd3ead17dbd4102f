// The search box: names of things and what the till calls them, questions, batches. Enter or a choice leads there.
(() => {
  "use strict";
  const box = document.getElementById("find");
  if (!box) return;
  const places = new Map(Array.from(document.querySelectorAll("#names option"), (o) => [o.value.toLowerCase(), o.dataset.to]));
  box.closest(".find").hidden = false;

  // The whole name, else the first that begins with what was written, else the first that holds it.
  function found(text) {
    const wanted = text.trim().toLowerCase();
    if (!wanted) return undefined;
    const names = Array.from(places.keys());
    const name = names.find((one) => one === wanted) ?? names.find((one) => one.startsWith(wanted))
      ?? names.find((one) => one.includes(wanted));
    return places.get(name);
  }
  function go(place) {
    location.hash = place;
    box.value = "";
    document.getElementById("main").focus({ preventScroll: true });
  }
  box.addEventListener("input", () => {
    const place = places.get(box.value.trim().toLowerCase());
    box.setCustomValidity("");
    if (place && document.activeElement === box && !box.dataset.typed) go(place);
  });
  // A choice from the list comes at once; letters come one by one, and may be the beginning of a longer name.
  box.addEventListener("keydown", (event) => {
    box.dataset.typed = event.key && event.key.length === 1 ? "yes" : "";
    if (event.key !== "Enter") return;
    event.preventDefault();
    const place = found(box.value);
    if (place) go(place);
    else box.setCustomValidity("Nothing of that name is on this page.");
    box.reportValidity();
  });
  // '/' leads to the box, as in many readers; not while something is being written.
  addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.target.matches("input, textarea")) return;
    event.preventDefault();
    box.focus();
  });
})();
