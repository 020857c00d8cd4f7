"use strict";
// Tables sort; a line's row and its marks in the figures mark each other.

enhance(document);

function enhance(root) {
  for (const table of root.querySelectorAll("table.sorts")) makeSortable(table);
  for (const table of root.querySelectorAll("table[data-group]")) {
    const figures = [...root.querySelectorAll("figure[data-group]")].filter(f => f.dataset.group === table.dataset.group && f.querySelector("g[data-line]"));
    linkLines(table, figures);
  }
}

function element(name, attributes, ...children) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  e.append(...children);
  return e;
}

function makeSortable(table) {
  const body = table.tBodies[0], asWritten = [...body.rows];
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, column) => {
    const button = element("button", {type: "button", title: "Sort by this column"}, ...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const way = {ascending: "descending", descending: null}[head.getAttribute("aria-sort")];
      for (const h of heads) h.removeAttribute("aria-sort");
      if (way === null) {
        body.append(...asWritten);
        return;
      }
      head.setAttribute("aria-sort", way ?? "ascending");
      body.append(...sorted(asWritten, column, way === "descending" ? -1 : 1));
    });
  });
}

// Rows without a number come last, whichever way the others run.
function sorted(rows, column, sign) {
  const of = row => row.cells[column].dataset.v;
  return [...rows].sort((a, b) => {
    const x = of(a), y = of(b);
    if (x === undefined) return sign * a.cells[column].textContent.localeCompare(b.cells[column].textContent);
    if (x === "" || y === "") return (x === "") - (y === "");
    return sign * (x - y);
  });
}

function linkLines(table, figures) {
  const heads = [...table.tHead.rows[0].cells].map(h => {
    const unit = h.querySelector(".unit")?.textContent ?? "";
    return {name: h.textContent.slice(0, h.textContent.length - unit.length).trim(), unit};
  });
  const rows = () => [...table.tBodies[0].rows].filter(r => r.dataset.line && r.getClientRects().length);
  const readouts = figures.map(addReadout);
  let kept = null; // the row that stays marked when the pointer leaves

  function say(row) {
    return [...row.cells].map((cell, i) => [heads[i].name, cell.textContent.trim(), i ? heads[i].unit : ""].filter(s => s).join(" ")).join(", ");
  }

  function show(row, aloud) {
    for (const r of table.querySelectorAll("tr.marked")) r.classList.remove("marked");
    row?.classList.add("marked");
    figures.forEach((figure, i) => {
      ring(figure, row?.dataset.line);
      readouts[i].setAttribute("aria-live", aloud === figure ? "polite" : "off");
      readouts[i].textContent = row ? say(row) : "";
    });
  }

  function keep(row, aloud) {
    kept = row;
    show(row, aloud);
  }

  const rowOf = line => [...table.tBodies[0].rows].find(r => r.dataset.line === line);
  table.tBodies[0].addEventListener("pointerover", e => show(e.target.closest("tr")));
  table.tBodies[0].addEventListener("pointerleave", () => show(kept));
  table.tBodies[0].addEventListener("click", e => keep(e.target.closest("tr")));
  table.tBodies[0].addEventListener("focusin", e => keep(e.target.closest("tr")));
  for (const figure of figures) {
    for (const svg of figure.querySelectorAll("svg")) {
      svg.addEventListener("pointermove", e => show(rowOf(nearest(svg, e)) ?? kept));
      svg.addEventListener("pointerleave", () => show(kept));
      svg.addEventListener("click", e => keep(rowOf(nearest(svg, e)) ?? null));
    }
  }
  document.addEventListener("keydown", e => {
    if (e.key === "Escape") keep(null);
  });

  // One row is in the order of the tab key; arrows go on from there.
  function rove(to) {
    for (const r of table.tBodies[0].rows) r.tabIndex = r === to ? 0 : -1;
  }
  const settle = () => rove(rows().find(r => r.tabIndex === 0) ?? rows()[0]);
  table.tBodies[0].addEventListener("keydown", e => {
    const all = rows(), at = all.indexOf(e.target.closest("tr"));
    const to = {ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: all.length - 1}[e.key];
    if (to === undefined || at < 0) return;
    e.preventDefault();
    const row = all[Math.min(Math.max(to, 0), all.length - 1)];
    rove(row);
    row.focus();
  });
  document.addEventListener("change", settle);
  settle();

  function addReadout(figure) {
    const said = element("span", {class: "said", "aria-live": "off"});
    const step = (label, by) => {
      const button = element("button", {type: "button"}, label);
      button.addEventListener("click", () => {
        const all = rows(), at = all.indexOf(kept);
        if (all.length) keep(all[at < 0 ? (by > 0 ? 0 : all.length - 1) : (at + by + all.length) % all.length], figure);
      });
      return button;
    };
    figure.append(element("div", {class: "readout"}, step("Line before", -1), step("Next line", 1), said));
    return said;
  }
}

const lineMarks = (svg, line) => [...svg.querySelectorAll("g[data-line]")].filter(g => line === undefined || g.dataset.line === line);

// nearest is the line whose mark is closest to the pointer, if one is close.
function nearest(svg, e) {
  const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
  let best, least = 18;
  for (const g of lineMarks(svg)) {
    const b = g.getBBox();
    const across = Math.max(b.x - p.x, 0, p.x - b.x - b.width), along = Math.max(b.y - p.y, 0, p.y - b.y - b.height);
    const far = Math.hypot(across, along / 4);
    if (far < least) [best, least] = [g.dataset.line, far];
  }
  return best;
}

// ring puts a ring around each of a line's marks.
function ring(figure, line) {
  for (const old of figure.querySelectorAll(".ring")) old.remove();
  if (line === undefined) return;
  for (const svg of figure.querySelectorAll("svg")) {
    if (!svg.getClientRects().length) continue;
    for (const g of lineMarks(svg, line)) {
      const b = g.getBBox(), r = svg.ownerDocument.createElementNS(svg.namespaceURI, "rect");
      const place = {x: b.x - 4, y: b.y - 4, width: b.width + 8, height: b.height + 8, rx: 4, class: "ring"};
      for (const [key, value] of Object.entries(place)) r.setAttribute(key, value);
      svg.append(r);
    }
  }
}
