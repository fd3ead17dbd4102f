// What a mark stands for, beside the pointer; and one thing marked everywhere while it is pointed at.
(() => {
  "use strict";
  const tip = document.createElement("div");
  tip.id = "tip";
  tip.hidden = true;
  document.body.append(tip);

  function show(mark, event) {
    tip.replaceChildren(...mark.dataset.tip.split("; ").map((line) => {
      const one = document.createElement("p");
      one.textContent = line;
      return one;
    }));
    tip.hidden = false;
    const { width, height } = tip.getBoundingClientRect();
    const left = Math.min(event.clientX + 12, innerWidth - width - 8);
    const top = event.clientY + 16 + height > innerHeight ? event.clientY - height - 8 : event.clientY + 16;
    // The page's policy lets no style be written into an element's markup; its object may set it.
    tip.style.left = `${Math.max(left, 4)}px`;
    tip.style.top = `${Math.max(top, 4)}px`;
  }
  addEventListener("pointermove", (event) => {
    const mark = event.target.closest?.("[data-tip]");
    if (mark) show(mark, event);
    else tip.hidden = true;
  });
  addEventListener("keydown", (event) => { if (event.key === "Escape") tip.hidden = true; });

  let marked = [];
  addEventListener("pointerover", (event) => {
    const link = event.target.closest?.("main a[href^='#']");
    for (const one of marked) one.classList.remove("same");
    marked = link ? Array.from(document.querySelectorAll(`main a[href="${CSS.escape(link.hash).replace("\\#", "#")}"]`)) : [];
    if (marked.length > 1) for (const one of marked) one.classList.add("same");
  });
})();
