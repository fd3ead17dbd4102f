// Tables can be sorted, filtered and copied as CSV; on a phone each row becomes a list.
(() => {
  "use strict";
  const LONG = 12; // rows from which a filter is worth its place
  const narrow = matchMedia("(max-width: 45rem)");

  const words = (cell) => cell.textContent.trim();
  const MONTHS = "janfebmaraprmayjunjulaugsepoctnovdec";

  // What a cell is sorted by: a number, a day, else its words; what is missing comes last.
  function key(cell) {
    const text = words(cell).replace(/[\u2009\u202f\u00a0 ](?=\d{3})/g, "");
    if (text === "" || text === "–") return [2, 0];
    const day = text.match(/^(\d{1,2}) ([A-Z][a-z]{2})(?: (\d{4}))?/);
    if (day) return [0, Number(day[3] || 0) * 400 + MONTHS.indexOf(day[2].toLowerCase()) * 32 + Number(day[1])];
    const number = text.replace("\u2212", "-").match(/^[<+]?\s*(-?\d+(?:\.\d+)?)/);
    return number ? [0, Number(number[1])] : [1, text.toLowerCase()];
  }

  function sort(table, column, button) {
    const heading = button.closest("th");
    const down = heading.getAttribute("aria-sort") === "ascending";
    for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
    heading.setAttribute("aria-sort", down ? "descending" : "ascending");
    const rows = Array.from(table.tBodies).flatMap((body) => Array.from(body.rows));
    const keys = new Map(rows.map((row) => [row, key(row.cells[column])]));
    rows.sort((one, other) => {
      const [a, b] = [keys.get(one), keys.get(other)];
      if (a[0] !== b[0]) return a[0] - b[0];
      const order = a[1] < b[1] ? -1 : a[1] > b[1] ? 1 : 0;
      return down && a[0] < 2 ? -order : order;
    });
    // Each body keeps its number of rows: the first is what is shown before the table is unfolded.
    let next = 0;
    for (const body of table.tBodies) {
      const size = body.rows.length;
      body.append(...rows.slice(next, next + size));
      next += size;
    }
  }

  const quoted = (text) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  // A spreadsheet calculates a cell that begins with one of these (as in the CSV exports).
  const harmless = (text) => (/^[=+\-@\t\r]/.test(text) && !/^[+-]?[\d.]+$/.test(text) ? `'${text}` : text);
  const plain = (text) => text.replace(/(?<=\d)[\u2009\u202f\u00a0](?=\d{3})/g, "").replaceAll("\u2212", "-");

  async function copy(table, button) {
    const lines = Array.from(table.rows, (row) => Array.from(row.cells, (cell) => quoted(harmless(plain(words(cell))))).join(","));
    const before = button.textContent;
    try {
      await navigator.clipboard.writeText(lines.join("\r\n"));
      button.textContent = "Copied";
    } catch {
      button.textContent = "This browser does not let the page copy";
    }
    setTimeout(() => { button.textContent = before; }, 2000);
  }

  function filter(table, text) {
    const wanted = text.toLowerCase();
    table.classList.toggle("filtered", wanted !== "");
    for (const row of Array.from(table.tBodies).flatMap((body) => Array.from(body.rows))) {
      row.hidden = wanted !== "" && !words(row).toLowerCase().includes(wanted);
    }
  }

  function tools(table) {
    const line = document.createElement("p");
    line.className = "tools";
    const rows = Array.from(table.tBodies).reduce((sum, body) => sum + body.rows.length, 0);
    if (rows > LONG) {
      const box = document.createElement("input");
      box.type = "search";
      box.placeholder = "Filter";
      box.setAttribute("aria-label", `Filter the rows of: ${table.caption ? words(table.caption) : "this table"}`);
      box.addEventListener("input", () => filter(table, box.value));
      line.append(box, " ");
    }
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Copy as CSV";
    button.addEventListener("click", () => copy(table, button));
    line.append(button);
    return line;
  }

  function equip(table) {
    if (table.dataset.equipped || !table.tHead) return;
    table.dataset.equipped = "yes";
    Array.from(table.tHead.rows[0].cells).forEach((heading, column) => {
      if (!words(heading)) return;
      const button = document.createElement("button");
      button.type = "button";
      button.append(...heading.childNodes);
      button.addEventListener("click", () => sort(table, column, button));
      heading.append(button);
    });
    (table.closest(".scroll") || table).after(tools(table));
  }

  // A row as a list needs its headings beside its cells.
  function label(table) {
    if (table.dataset.labelled || !table.tHead) return;
    table.dataset.labelled = "yes";
    const names = Array.from(table.tHead.rows[0].cells, words);
    for (const row of Array.from(table.tBodies).flatMap((body) => Array.from(body.rows))) {
      Array.from(row.cells).forEach((cell, column) => { cell.dataset.label = names[column]; });
    }
    table.classList.add("listed");
  }

  // Only what is shown: a page of sixty drinks has a thousand tables.
  function shown() {
    const at = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    const view = at?.closest(".view") || document.querySelector("#season");
    for (const part of view ? [view] : document.querySelectorAll(".view")) {
      for (const table of part.querySelectorAll(".scroll > table, .plain")) {
        equip(table);
        if (narrow.matches) label(table);
      }
    }
  }
  addEventListener("hashchange", shown);
  narrow.addEventListener("change", shown);
  shown();
})();
