
// Forms are sent without leaving the page, files as they are dropped.
const bench = (() => {
  const sending = document.getElementById("sending");

  // post sends a form's fields; what is wrong with one is put beside it.
  async function post(action, fields, form) {
    const answer = await fetch(action, {method: "POST", body: fields instanceof FormData ? fields : new URLSearchParams(fields)});
    const wrong = answer.headers.get("Content-Type") === "application/json" ? await answer.json() : {};
    for (const e of form?.elements ?? []) {
      if (!e.name || !document.getElementById(e.id + "-why")) continue;
      e.toggleAttribute("aria-invalid", e.name in wrong);
      if (e.name in wrong) e.setAttribute("aria-invalid", "true");
      document.getElementById(e.id + "-why").textContent = wrong[e.name] ?? "";
    }
    form?.querySelector("[aria-invalid]")?.focus();
    return answer.ok;
  }

  document.addEventListener("submit", async e => {
    if (e.submitter?.formMethod === "dialog") return;
    e.preventDefault();
    const form = e.target, action = e.submitter?.getAttribute("formaction") ?? form.getAttribute("action");
    const fields = new FormData(form, e.submitter?.name ? e.submitter : undefined);
    const done = await post(action, new URLSearchParams(fields), form);
    if (done && form.closest("dialog")) form.closest("dialog").close();
    if (done && action === "end") bench.ended();
  });
  document.addEventListener("change", e => {
    if (e.target.type === "file") send([...e.target.files].map(file => ({file, name: inFolder(file.webkitRelativePath) || file.name})));
    else if (e.target.form?.matches(".stated, [action=rename]")) e.target.form.requestSubmit();
  });

  // A file in a folder of the one that was dropped bears that folder's name too.
  const inFolder = path => path.split("/").slice(1).join(" ");

  // send sends files one after the other; each is told with the time it was changed.
  async function send(files) {
    const captures = files.filter(f => /\.(wav|wave|bwf|rf64|bw64|w64|flac)$/i.test(f.name)), lost = [];
    for (const [i, {file, name}] of (captures.length ? captures : files).entries()) {
      sending.textContent = files.length > 1 ? `Taking ${i + 1} of ${captures.length}: ${name}` : "";
      await (file ? fetch("captures?name=" + encodeURIComponent(name), {method: "POST", body: file, headers: {"X-Changed": file.lastModified}}) : Promise.reject()).catch(() => lost.push(name));
    }
    sending.textContent = lost.length ? `Not taken, since they changed or went away: ${lost.join(", ")}` : "";
  }

  // within lists the files of what was dropped, those in folders too. One that can't be had
  // any more is left to send, which says so.
  async function within(entry, depth = 0) {
    if (entry.isFile) {
      const file = await new Promise((done, failed) => entry.file(done, failed)).catch(() => null);
      return [{file, name: depth ? inFolder(entry.fullPath.slice(1)) : entry.name}];
    }
    const reader = entry.createReader(), all = [];
    for (let some; (some = await new Promise((done, failed) => reader.readEntries(done, failed))).length;) {
      for (const e of some) all.push(...await within(e, depth + 1));
    }
    return all;
  }

  const isFiles = e => [...e.dataTransfer.types].includes("Files");
  const drop = () => document.querySelector(".drop");
  for (const kind of ["dragenter", "dragover"]) {
    document.addEventListener(kind, e => {
      if (!isFiles(e)) return;
      e.preventDefault();
      drop().classList.add("over");
    });
  }
  document.addEventListener("dragleave", e => { if (!e.relatedTarget) drop().classList.remove("over"); });
  document.addEventListener("drop", async e => {
    if (!isFiles(e)) return;
    e.preventDefault();
    drop().classList.remove("over");
    const items = [...e.dataTransfer.items].map(i => ({entry: i.webkitGetAsEntry?.(), file: i.getAsFile()}));
    const all = await Promise.all(items.map(({entry, file}) => entry ? within(entry) : file ? [{file, name: file.name}] : []));
    send(all.flat());
  });

  return {post};
})();
