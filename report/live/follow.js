
// What the program shows is taken in when it has changed: of the page only the parts
// that have.
(() => {
  // plain is what a field holds that nobody has touched.
  const plain = e => e.matches("select") ? [...e.options].find(o => o.defaultSelected)?.value ?? "" : e.defaultValue;
  const fields = "input:not([type=file]):not([type=hidden]), select";

  // take replaces the parts that are sent, each in a task of its own so that none keeps
  // the page, and leaves alone what somebody is typing.
  async function take(text) {
    const fresh = new DOMParser().parseFromString(text, "text/html");
    for (const now of [...fresh.body.children]) {
      const old = document.getElementById(now.id), active = old.contains(document.activeElement) ? document.activeElement.id : "";
      const typed = [...old.querySelectorAll(fields)].filter(e => e.id && e.value !== plain(e)).map(e => [e.id, plain(e), e.value]);
      const opened = [...old.querySelectorAll("details[id]")].map(e => [e.id, e.open]);
      const choosing = old.querySelector("input[type=file]:focus") && old.querySelector(".drop");
      keepRows(old, now);
      old.className = now.className;
      old.replaceChildren(...now.childNodes);
      if (choosing) old.querySelector(".drop").replaceWith(choosing);
      for (const [id, was, value] of typed) {
        const e = document.getElementById(id);
        if (e && plain(e) === was) e.value = value;
      }
      for (const [id, is] of opened) if (document.getElementById(id)) document.getElementById(id).open = is;
      if (active) document.getElementById(active)?.focus({preventScroll: true});
      enhance(old);
      if (old.id === "grid") bench.enterable();
      await new Promise(next => setTimeout(next));
    }
  }

  // keepRows puts rows of the grid that haven't changed in place of their equals.
  function keepRows(old, now) {
    const rows = e => [...e.querySelectorAll(".cells tbody tr")], before = new Map(rows(old).map(r => [r.dataset.was, r]));
    for (const row of rows(now)) {
      const was = row.outerHTML, same = before.get(was);
      if (same && !same.contains(document.activeElement)) row.replaceWith(same);
      else row.dataset.was = was;
    }
  }

  // What is sent while some is still taken in waits for that.
  let taken = Promise.resolve(), failures = 0;
  const stream = new EventSource("changes?version=" + document.body.dataset.version);
  stream.onopen = () => { failures = 0; };
  stream.onmessage = e => {
    document.body.dataset.version = e.lastEventId;
    taken = taken.then(() => take(JSON.parse(e.data)));
  };
  stream.onerror = () => { if (++failures === 3 || stream.readyState === EventSource.CLOSED) bench.ended(); };

  bench.ended = () => {
    stream.close();
    const said = document.createElement("p");
    said.textContent = "humdiff has ended. This page can be closed; start humdiff again for a new one.";
    document.getElementById("wrong").replaceChildren(said);
    for (const e of document.querySelectorAll("button, input, select")) e.disabled = true;
  };
})();
