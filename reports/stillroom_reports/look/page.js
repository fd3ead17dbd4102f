// What a page without scripts does not have: the marked place in the bar, and folds that open on paper.
(() => {
  "use strict";

  // The part that is shown is marked in the bar.
  function mark() {
    const at = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    const shown = at?.closest(".view") || document.querySelector("#season");
    for (const link of document.querySelectorAll("header nav a")) {
      const here = shown && (link.hash === `#${shown.id}` || (shown.dataset.part || "") === link.hash.slice(1));
      if (here) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
  }
  addEventListener("hashchange", mark);
  mark();

  // On paper nothing can be unfolded.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = Array.from(document.querySelectorAll("details:not([open]):not(.statistics)"));
    for (const fold of opened) fold.open = true;
  });
  addEventListener("afterprint", () => {
    for (const fold of opened) fold.open = false;
  });
})();
