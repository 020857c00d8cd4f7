
// The grid: runs are dragged to their cells or moved by the keyboard; one that is chosen
// opens in a dialog.
(() => {
  const chosen = document.getElementById("chosen");
  const chip = e => e.target.closest?.(".chip");
  const cellOf = e => e.closest("td[data-condition]");

  const move = (id, cell) => bench.post("move", {id, ...cell.dataset});

  async function open(link) {
    const answer = await fetch(link.getAttribute("href"));
    chosen.innerHTML = await answer.text();
    if (!chosen.open) chosen.showModal();
  }
  // By the time that this is told another run may have been opened.
  chosen.addEventListener("close", () => { if (!chosen.open) chosen.replaceChildren(); });

  document.addEventListener("click", e => {
    if (!chip(e)) return;
    e.preventDefault();
    open(chip(e));
  });

  document.addEventListener("dragstart", e => {
    if (chip(e)) e.dataTransfer.setData("application/x-run", chip(e).dataset.id);
  });
  const over = e => [...e.dataTransfer.types].includes("application/x-run") && e.target.closest?.("td[data-condition]");
  document.addEventListener("dragover", e => {
    const cell = over(e);
    for (const lit of document.querySelectorAll("td.over")) if (lit !== cell) lit.classList.remove("over");
    if (!cell) return;
    e.preventDefault();
    cell.classList.add("over");
  });
  document.addEventListener("drop", e => {
    const cell = over(e);
    if (!cell) return;
    e.preventDefault();
    cell.classList.remove("over");
    move(e.dataTransfer.getData("application/x-run"), cell);
  });

  // beside is the cell, or the nearest with a run in it, in the direction of a key.
  function beside(cell, key, filled) {
    const step = key === "ArrowLeft" || key === "ArrowUp" ? -1 : 1;
    const upright = key === "ArrowUp" || key === "ArrowDown";
    const rows = [...cell.closest("tbody").rows];
    let row = rows.indexOf(cell.parentElement), column = cell.cellIndex;
    for (;;) {
      if (upright) row += step; else column += step;
      const next = rows[row]?.cells[column];
      if (!next?.matches("td[data-condition]")) return null;
      if (!filled || next.querySelector(".chip")) return next;
    }
  }

  document.addEventListener("keydown", e => {
    const at = chip(e);
    if (e.key.toLowerCase() === "z" && (e.ctrlKey || e.metaKey) && !e.target.matches("input, select, dialog *")) {
      e.preventDefault();
      return bench.post("undo", e.shiftKey ? {again: 1} : {});
    }
    if (!at || e.ctrlKey || e.metaKey || e.altKey) return;
    const does = {y: "confirm", l: "leave"}[e.key.toLowerCase()];
    if (does) return bench.post(does, {id: at.dataset.id});
    if (e.key.toLowerCase() === "o") {
      const odd = [...document.querySelectorAll(".chip.odd")];
      return odd.length && focusOn(odd.find(c => at.compareDocumentPosition(c) & Node.DOCUMENT_POSITION_FOLLOWING) ?? odd[0]);
    }
    if (!e.key.startsWith("Arrow")) return;
    e.preventDefault();
    const cell = cellOf(at), first = document.querySelector("td[data-condition]");
    if (e.shiftKey) {
      const to = cell ? beside(cell, e.key, false) : first;
      return to && move(at.dataset.id, to);
    }
    const sibling = e.key === "ArrowLeft" ? "previous" : "next";
    let next = e.key === "ArrowLeft" || e.key === "ArrowRight" ? at : null;
    do next = next?.[sibling + "ElementSibling"]; while (next && !next.matches(".chip"));
    next ??= cell ? beside(cell, e.key, true)?.querySelector(".chip") : document.querySelector(".cells .chip");
    if (next) focusOn(next);
  });

  // One run is reached by Tab, the others from it by arrows.
  function focusOn(one) {
    for (const c of document.querySelectorAll(".chip")) c.tabIndex = c === one ? 0 : -1;
    one.focus();
  }
  bench.enterable = () => {
    const chips = [...document.querySelectorAll(".chip")], last = chips.find(c => c === document.activeElement) ?? chips[0];
    for (const c of chips) c.tabIndex = c === last ? 0 : -1;
  };
  bench.enterable();
})();
