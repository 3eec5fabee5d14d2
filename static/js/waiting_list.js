/* The page of what waits: each item with its figures, sent now, saved to a file, taken back from one. */
(function (reckoner) {
  "use strict";
  const root = document.querySelector("[data-waiting-list]");
  if (!root || !reckoner.owner || !window.indexedDB) return;
  const words = root.dataset;

  function make(name, text, className) {
    const element = document.createElement(name);
    element.textContent = text || "";
    if (className) element.className = className;
    return element;
  }

  function figures(item) {
    return item.fields.filter(function (pair) { return pair[1] && /^(at\d+[b-f]?|note|next_note|caption|reason)$/.test(pair[0]); })
      .map(function (pair) { return pair[1]; }).join(" · ");
  }

  function button(text, work) {
    const one = make("button", text, "link stand");
    one.type = "button";
    one.addEventListener("click", work);
    return one;
  }

  function row(item) {
    const line = make("li");
    if (item.owner !== reckoner.owner) {
      line.append(make("span", words.closed, "second"));
      return line;
    }
    const told = make("span", "", "rules-name");
    told.append(item.title);
    line.append(told, make("span", new Date(item.madeAt).toLocaleString(), "second"), make("span", figures(item), "fig"));
    if (item.needs || item.why) line.append(make("p", (item.needs ? words.needs + " " : "") + (item.needs || item.why), item.needs ? "err" : "note"));
    if (!item.needs) return line;
    const links = make("p", "", "links");
    const open = make("a", words.open, "stand");
    open.href = item.page;
    links.append(open, button(words.again, function () { settle(Object.assign(item, { needs: "", tries: 0, fails: 0 })); }), button(words.away, function () { throwAway(item, links); }));
    line.append(links);
    return line;
  }

  async function settle(item) {
    await reckoner.put("waiting", item);
    await reckoner.count();
    return reckoner.flush();
  }

  // Asked once more, in the place of the button: this is the only way an item is lost, and it is by hand.
  function throwAway(item, links) {
    links.replaceChildren(make("span", words.sure), button(words.away, async function () {
      await reckoner.drop("waiting", item.n);
      reckoner.count();
    }));
  }

  function draw(event) {
    const items = event.detail;
    root.replaceChildren(...items.map(row));
    document.querySelectorAll("[data-some]").forEach(function (part) { part.hidden = items.length === 0; });
    document.querySelector("[data-nothing]").hidden = items.length > 0;
  }

  function toText(bytes) {
    let text = "";
    const view = new Uint8Array(bytes);
    for (let n = 0; n < view.length; n += 8192) text += String.fromCharCode.apply(null, view.subarray(n, n + 8192));
    return btoa(text);
  }

  function toBytes(text) { return Uint8Array.from(atob(text), function (letter) { return letter.charCodeAt(0); }).buffer; }

  // Only one's own: another person's items stay closed, in a file as on the page.
  async function save() {
    const items = (await reckoner.all("waiting")).filter(function (item) { return item.owner === reckoner.owner; });
    const rows = items.map(function (item) {
      return Object.assign({}, item, { n: undefined, photo: item.photo && Object.assign({}, item.photo, { bytes: toText(item.photo.bytes) }) });
    });
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify({ format: "strake-reckoner-waiting", version: 1, items: rows })], { type: "application/json" }));
    link.download = "waiting-" + new Date().toISOString().slice(0, 10) + ".json";
    link.click();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 60000);
  }

  function isItem(item) {
    return item && typeof item.id === "string" && typeof item.owner === "string" && /^\/builds\/[\w\-/]+\/$/.test(item.url) && /^\/[^/\\]/.test(item.page)
      && typeof item.madeAt === "number" && Array.isArray(item.fields) && item.fields.every(function (pair) { return Array.isArray(pair) && typeof pair[0] === "string" && typeof pair[1] === "string"; });
  }

  async function take(file) {
    let told = null;
    try { told = JSON.parse(await file.text()); } catch { /* said below */ }
    if (!told || told.format !== "strake-reckoner-waiting" || !Array.isArray(told.items) || !told.items.every(isItem)) return reckoner.say(words.notOurs);
    const here = new Set((await reckoner.all("waiting")).map(function (item) { return item.id; }));
    const fresh = told.items.filter(function (item) { return !here.has(item.id); });
    for (const item of fresh) {
      await reckoner.keep({
        id: item.id, owner: item.owner, url: item.url, page: item.page, title: String(item.title).slice(0, 200), fields: item.fields, madeAt: item.madeAt,
        photo: item.photo && { field: "photos", name: String(item.photo.name), type: String(item.photo.type), bytes: toBytes(item.photo.bytes) },
      });
    }
    reckoner.say(fresh.length === 1 ? words.takenOne : words.taken.replace("{n}", fresh.length));
    return reckoner.flush();
  }

  document.addEventListener("reckoner:counted", draw);
  document.querySelector("[data-send-now]").addEventListener("click", async function () {
    const results = await reckoner.flush();
    if (results.has("*")) reckoner.say(results.get("*").what === "closed" ? words.signedOut : words.unreached);
  });
  document.querySelector("[data-save]").addEventListener("click", save);
  document.querySelector("[data-take]").addEventListener("change", function (event) {
    if (event.target.files[0]) take(event.target.files[0]).catch(function () { reckoner.say(words.notOurs); });
    event.target.value = "";
  });
  reckoner.count();
})(window.reckoner);
