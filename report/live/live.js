
// The bench page: forms are sent as they change, files as they are dropped, and what
// the program shows is taken in when it has changed. Without this script the
// same forms work with their buttons.
(() => {
  const regions = ["head", "recorded", "found", "open", "foot", "wrong"];
  const wrong = document.getElementById("wrong");
  const given = {};
  let over = false;
  document.body.classList.add("scripted");

  function post(action, body) {
    return fetch(action, {method: "POST", body, headers: {"X-Bench": "1"}});
  }

  document.addEventListener("submit", async e => {
    e.preventDefault();
    const form = e.target, fields = new FormData(form);
    if (form.enctype === "multipart/form-data") return send(form.querySelector("input").files);
    const answer = await post(form.getAttribute("action"), new URLSearchParams(fields));
    if (form.getAttribute("action") === "end" && answer.ok) ended();
  });
  document.addEventListener("change", e => {
    if (e.target.type === "file") send(e.target.files);
    else if (e.target.form?.matches(".bench, [action=use]")) e.target.form.requestSubmit();
  });

  async function send(files) {
    for (const file of files) {
      const one = new FormData();
      one.append("files", file);
      await post("captures", one);
    }
  }

  const drop = () => document.querySelector(".drop");
  for (const kind of ["dragenter", "dragover"]) {
    document.addEventListener(kind, e => {
      if (![...e.dataTransfer.types].includes("Files")) return;
      e.preventDefault();
      drop().classList.add("over");
    });
  }
  document.addEventListener("dragleave", e => { if (!e.relatedTarget) drop().classList.remove("over"); });
  document.addEventListener("drop", e => {
    e.preventDefault();
    drop().classList.remove("over");
    send(e.dataTransfer.files);
  });

  // A span is drawn on the overview; the fields below say the same for keyboards.
  document.addEventListener("pointerdown", e => {
    const svg = e.target.closest(".overview");
    if (!svg || e.button) return;
    const box = svg.getBoundingClientRect(), seconds = svg.dataset.seconds, form = svg.closest("form");
    const at = ev => Math.min(1, Math.max(0, (ev.clientX - box.left) / box.width));
    const from = at(e);
    svg.setPointerCapture(e.pointerId);
    const [before, after] = svg.querySelectorAll(".dim"), width = svg.viewBox.baseVal.width;
    const draw = ev => {
      const [a, b] = [from, at(ev)].sort((x, y) => x - y);
      before.setAttribute("width", a * width);
      after.setAttribute("x", b * width);
      after.setAttribute("width", (1 - b) * width);
    };
    const drawing = new AbortController();
    svg.addEventListener("pointermove", draw, {signal: drawing.signal});
    const done = ev => {
      drawing.abort();
      const [a, b] = [from, at(ev)].sort((x, y) => x - y), whole = b - a < 0.01;
      form.elements.start.value = whole ? "" : (a * seconds).toFixed(2);
      form.elements.end.value = whole || b === 1 ? "" : (b * seconds).toFixed(2);
      form.requestSubmit();
    };
    svg.addEventListener("pointerup", done, {signal: drawing.signal});
    svg.addEventListener("pointercancel", () => drawing.abort(), {signal: drawing.signal});
  });

  // take replaces what has changed, and leaves alone what somebody is typing in.
  function take(text) {
    const fresh = new DOMParser().parseFromString(text, "text/html");
    document.body.dataset.version = fresh.body.dataset.version;
    for (const id of regions) {
      const old = document.getElementById(id), now = fresh.getElementById(id);
      old.className = now.className;
      if (old.innerHTML === now.innerHTML || old.dataset.was === now.innerHTML) continue;
      old.dataset.was = now.innerHTML;
      const active = old.contains(document.activeElement) ? document.activeElement : null;
      const typed = active?.matches("input:not([type=file])") ? active.value : null;
      // The name of what will be saved is sent only then: one that was given stays.
      for (const e of old.querySelectorAll(".keep input")) given[e.id] = e.value === e.defaultValue ? undefined : e.value;
      old.replaceChildren(...now.childNodes);
      for (const e of old.querySelectorAll(".keep input")) e.value = given[e.id] ?? e.value;
      const again = active?.id ? document.getElementById(active.id) : null;
      if (again) {
        if (typed !== null) again.value = typed;
        again.focus({preventScroll: true});
      }
      enhance(old);
    }
  }

  async function follow() {
    for (let failures = 0; failures < 3 && !over;) {
      try {
        const answer = await fetch("wait?version=" + document.body.dataset.version);
        if (!answer.ok) throw new Error(answer.status);
        if (await answer.text() !== document.body.dataset.version) take(await (await fetch("./")).text());
        failures = 0;
      } catch {
        failures++;
        await new Promise(wake => setTimeout(wake, 500));
      }
    }
    if (!over) ended();
  }

  function ended() {
    over = true;
    const said = document.createElement("p");
    said.textContent = "humdiff has ended. This page can be closed; start humdiff again for a new one.";
    wrong.replaceChildren(said);
    for (const e of document.querySelectorAll("button, input, select")) e.disabled = true;
  }

  follow();
})();
