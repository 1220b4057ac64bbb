// The bench: entries go through a queue in this browser, so that a network that comes and goes loses none and doubles
// none. Each entry has a key of its own here; the book tells an entry sent twice by its batch, specimen and values.
"use strict";

(() => {
  const bench = document.getElementById("bench");
  const waiting = document.getElementById("waiting");
  const RETRY_MS = 3000;
  const PATIENCE_MS = 20000;
  let memory = new Map(); // where the browser keeps no database (some private windows)
  let database = null;
  let draining = false;
  let atHand = null; // the key of the entry that is being sent just now: the queue leaves it alone

  const opened = new Promise((resolve) => {
    try {
      const asked = indexedDB.open("jointlab-bench", 1);
      asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "key" });
      asked.onsuccess = () => { database = asked.result; resolve(); };
      asked.onerror = () => resolve();
    } catch { resolve(); }
  });

  const done = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const entries = (mode) => database.transaction("entries", mode).objectStore("entries");
  const keep = async (entry) => {
    if (!database) { memory.set(entry.key, entry); return; }
    const work = database.transaction("entries", "readwrite");
    work.objectStore("entries").put(entry);
    await new Promise((resolve, reject) => { work.oncomplete = resolve; work.onerror = work.onabort = () => reject(work.error); });
  };
  const drop = async (key) => (database ? done(entries("readwrite").delete(key)) : void memory.delete(key));
  const all = async () => {
    const found = database ? await done(entries("readonly").getAll()) : [...memory.values()];
    return found.sort((one, other) => one.at - other.at);
  };

  const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const localMinute = () => {
    const now = new Date();
    return new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 16);
  };

  const send = async (entry) => {
    const form = new FormData();
    for (const [name, value] of entry.fields) if (name !== "token") form.append(name, value);
    form.append("token", bench.dataset.token || document.querySelector("[name=token]").value);
    const headers = { "HX-Request": "true" };
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      const answer = await fetch("/", { method: "POST", body: form, headers, signal: stop.signal, credentials: "same-origin" });
      if (answer.status === 403 && !entry.renewed) {
        const fresh = await fetch("/token", { credentials: "same-origin" });
        if (fresh.ok) {
          bench.dataset.token = (await fresh.json()).token;
          return await send({ ...entry, renewed: true });
        }
      }
      const outcome = answer.headers.get("x-jointlab-outcome");
      return { outcome: outcome || (answer.status === 401 ? "unpaired" : answer.status === 413 ? "wrong" : "failed"), text: await answer.text() };
    } catch {
      return { outcome: "away", text: "" };
    } finally { clearTimeout(timer); }
  };

  const form = () => document.getElementById("entry");
  const put = (name, value) => {
    const field = form().elements[name];
    if (field) field.value = value;
  };

  const show = (html, photo) => {
    bench.innerHTML = html;
    for (const field of bench.querySelectorAll("[name=token]")) bench.dataset.token = field.value;
    htmx.process(bench);
    if (photo && form().elements.photo) {
      const held = new DataTransfer();
      held.items.add(photo);
      form().elements.photo.files = held.files;
    }
    arrange();
  };

  // The next specimen, when the server cannot say it: the plan's next, or the last number counted on.
  const advance = (entry) => {
    const now = form();
    const sent = Object.fromEntries(entry.fields.filter(([, value]) => typeof value === "string"));
    const upcoming = JSON.parse(now.dataset.upcoming).filter((one) => one.batch !== sent.batch || one.specimen !== sent.specimen);
    now.dataset.upcoming = JSON.stringify(upcoming);
    const next = upcoming[0];
    if (next) {
      for (const [name, value] of Object.entries(next.fields)) put(name, value);
      put("batch", next.batch);
      put("specimen", next.specimen);
    } else {
      put("specimen", counted(sent.specimen || ""));
    }
    for (const name of ["load", "held", "notes", "photo", "wood_pct", "cohesive_pct", "adhesive_pct", "delamination_pct", "paper_pct"]) put(name, "");
    for (const tap of now.querySelectorAll("[name=break]")) tap.checked = false;
    document.getElementById("asked")?.remove();
    document.getElementById("summary")?.remove();
    document.getElementById("receipt")?.remove();
    named(next ? next.words : "A new specimen");
    now.elements.load.focus();
  };
  const counted = (name) => {
    const found = name.match(/(\d+)(\D*)$/);
    if (!found) return name ? `${name}-2` : "1";
    return name.slice(0, found.index) + String(Number(found[1]) + 1).padStart(found[1].length, "0") + found[2];
  };
  const named = (words) => {
    const { batch, specimen, glue, substrate, preparation } = form().elements;
    document.getElementById("next-words").textContent = words;
    document.getElementById("next-name").textContent = `batch ${batch.value}, specimen ${specimen.value}`;
    document.getElementById("next-joint").textContent = `${glue.value} on ${substrate.value}${preparation.value ? ` (${preparation.value})` : ""}`;
  };

  // Fields that belong to another shape, action or outcome are out of the way; the server leaves them out in any case.
  const arrange = () => {
    const chosen = (name) => form().querySelector(`[name=${name}]:checked`)?.value ?? form().elements[name]?.value;
    for (const part of bench.querySelectorAll("[data-if], [data-unless]")) {
      const [name, words] = (part.dataset.if || part.dataset.unless).split("=");
      part.hidden = words.split(" ").includes(chosen(name)) === Boolean(part.dataset.unless);
    }
  };

  const WORDS = {
    asks: "looks wrong to the book and asks to be confirmed",
    wrong: "cannot be stored as it is",
  };
  const listWaiting = async () => {
    const found = await all();
    waiting.hidden = found.length === 0;
    const asking = found.filter((entry) => entry.state);
    const left = found.length - asking.length;
    const said = [];
    if (left) said.push(`${left} ${left === 1 ? "entry waits" : "entries wait"} for the network.`);
    if (asking.length) said.push(`${asking.length} ${asking.length === 1 ? "needs" : "need"} you.`);
    if (unpaired) said.push("This device has to be let in again: scan a new link, and come back to this page.");
    if (found.length && !database) said.push("This browser keeps them in this page only.");
    document.getElementById("waiting-said").textContent = said.join(" ");
    const list = document.getElementById("waiting-list");
    list.replaceChildren(...asking.map((entry) => {
      const row = document.createElement("li");
      const values = Object.fromEntries(entry.fields.filter(([, value]) => typeof value === "string"));
      row.append(`Batch ${values.batch}, specimen ${values.specimen}, ${values.load}: ${WORDS[entry.state]}. `);
      const back = document.createElement("button");
      back.type = "button";
      back.textContent = "Look at it";
      back.addEventListener("click", async () => { await drop(entry.key); show(entry.page, photoOf(entry)); await listWaiting(); attend(); });
      row.append(back);
      return row;
    }));
  };
  const photoOf = (entry) => entry.fields.find(([name, value]) => name === "photo" && value.size)?.[1];
  const attend = () => (document.getElementById("summary") || document.getElementById("asked") || form().elements.load).focus();

  let unpaired = false;
  const drain = async () => {
    if (draining) return;
    draining = true;
    try {
      for (const entry of (await all()).filter((one) => !one.state && one.key !== atHand)) {
        const { outcome, text } = await send(entry);
        unpaired = outcome === "unpaired";
        if (outcome === "stored") await drop(entry.key);
        else if (outcome === "asks" || outcome === "wrong") await keep({ ...entry, state: outcome, page: text });
        else break;
        await listWaiting();
      }
    } finally { draining = false; }
    await listWaiting();
  };

  bench.addEventListener("submit", async (event) => {
    event.preventDefault();
    const typed = form();
    const button = document.getElementById("store");
    if (button.disabled) return;
    button.disabled = true;
    typed.elements.entered_at.value = localMinute();
    const fields = [...new FormData(typed, event.submitter).entries()].filter(([, value]) => typeof value === "string" || value.size);
    const entry = { key: newKey(), at: Date.now() + Math.random(), fields };
    await opened;
    const behind = (await all()).some((one) => !one.state);
    if (!behind) atHand = entry.key;
    await keep(entry);
    const { outcome, text } = behind ? { outcome: "away" } : await send(entry);
    atHand = null;
    if (outcome === "stored" || outcome === "asks" || outcome === "wrong") {
      await drop(entry.key);
      if (outcome === "wrong" && !text.includes("<form")) { button.disabled = false; return; }
      show(text, outcome === "stored" ? null : photoOf(entry));
      if (outcome === "stored") form().elements.load.focus({ preventScroll: true });
      else attend();
      if (outcome === "stored") document.getElementById("receipt")?.scrollIntoView({ block: "nearest" });
    } else {
      unpaired = outcome === "unpaired";
      advance(entry);
      button.disabled = false;
    }
    await listWaiting();
    if (behind) drain();
  });

  bench.addEventListener("change", (event) => {
    arrange();
    if (event.target.name === "load_unit") document.getElementById("load-unit").textContent = event.target.selectedOptions[0].textContent;
  });
  bench.addEventListener("input", (event) => {
    if (["batch", "specimen", "glue", "substrate", "preparation"].includes(event.target.name)) named(document.getElementById("next-words").textContent);
  });
  addEventListener("online", drain);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) drain(); });
  setInterval(async () => { if ((await all()).some((one) => !one.state)) drain(); }, RETRY_MS);
  opened.then(async () => { arrange(); await listWaiting(); drain(); });
})();
