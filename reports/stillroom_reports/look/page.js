// Draws every chart from the JSON beside it. A chart that fails says so in its own place; the others go on.
(() => {
  "use strict";
  const root = document.documentElement;
  const read = (id) => JSON.parse(document.getElementById(id).textContent);
  // Styles that the libraries would insert are refused by the page's policy; page.css has its own.
  const options = {
    ast: true, actions: false, renderer: "svg", defaultStyle: false, config: read("chart-config"),
    tooltip: { disableDefaultStyle: true },
  };

  async function draw(box) {
    try {
      await vegaEmbed(box, read(box.dataset.chart), options);
    } catch {
      const line = document.createElement("p");
      line.className = "undrawn";
      line.textContent = "This chart could not be drawn by this browser.";
      box.replaceChildren(line);
    }
  }

  Promise.all(Array.from(document.querySelectorAll("[data-chart]"), draw)).then(() => {
    root.dataset.charts = "done";
  });

  // On paper nothing can be unfolded.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = Array.from(document.querySelectorAll("details:not([open])"));
    for (const fold of opened) fold.open = true;
  });
  addEventListener("afterprint", () => {
    for (const fold of opened) fold.open = false;
  });
})();
