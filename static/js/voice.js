/* Figures by voice, where the browser listens: what was understood stands in the row, to be read before Done. Every
   figure goes through the keys of the page, so the point, the jump and the questions are those of a thumb. */
(function () {
  "use strict";
  const Recognition = window.SpeechRecognition || window.webkitSpeechRecognition;
  const ASKED = "reckoner-voice";
  const SMALL = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split(" ");
  const TENS = { twenty: 20, thirty: 30, forty: 40, fifty: 50, sixty: 60, seventy: 70, eighty: 80, ninety: 90 };
  const KEYS = { next: "", skip: "skip", again: "again", back: "rub-out" };

  // "four seventy-six" and "four point seven six" and "476" become the keys of 476, 4.76 and 476.
  function keysOf(said) {
    const words = said.toLowerCase().replace(/,(?=\d)/g, ".").split(/[\s,;-]+/).filter(Boolean);
    const keys = [];
    for (let n = 0; n < words.length; n += 1) {
      const word = words[n];
      const small = word === "oh" || word === "o" ? 0 : SMALL.indexOf(word);
      if (/^\d*\.?\d+$/.test(word)) keys.push(...word);
      else if (word in KEYS) { if (KEYS[word]) keys.push(KEYS[word]); }
      else if (word === "point" || word === "comma") keys.push(".");
      else if (small >= 0) keys.push(...String(small));
      else if (word in TENS) {
        const unit = SMALL.indexOf(words[n + 1]);
        const joins = unit > 0 && unit < 10;
        keys.push(...String(TENS[word] + (joins ? unit : 0)));
        if (joins) n += 1;
      } else if (word === "hundred") {
        const rest = words.slice(n + 1).filter(function (one) { return one !== "and"; });
        const tens = rest[0] in TENS || SMALL.indexOf(rest[0]) > 9;
        if (rest.length === 0) keys.push("0", "0");
        else if (!tens) keys.push("0");
      } else if (word !== "and") return null;
    }
    return keys.length ? keys : null;
  }

  function start(form) {
    const button = form.querySelector("[data-voice]");
    const pad = form.querySelector(".keypad");
    if (!button || !pad) return;
    const note = form.querySelector("[data-voice-note]");
    const says = form.querySelector("[data-voice-says]");
    const call = button.textContent;
    let listening = null;
    button.hidden = false;

    function tell(text) { says.hidden = false; says.textContent = text; }

    function hear(said) {
      const keys = keysOf(said);
      if (!keys) return tell(button.dataset.unheard + " " + said);
      const row = form.querySelector(".entry-row.current") || form.querySelector(".entry-row");
      const field = row.querySelector("input:not([type=hidden])");
      keys.forEach(function (key) { pad.querySelector('[data-key="' + key + '"]').click(); });
      return tell(button.dataset.heard + " " + row.querySelector(".entry-at").textContent.trim() + ": " + (field.value || "–"));
    }

    function listen() {
      note.hidden = true;
      listening = new Recognition();
      listening.lang = document.documentElement.lang || "en";
      listening.continuous = true;
      listening.onresult = function (event) {
        for (let n = event.resultIndex; n < event.results.length; n += 1) if (event.results[n].isFinal) hear(event.results[n][0].transcript.trim());
      };
      listening.onend = function () { listening = null; button.textContent = call; };
      button.textContent = button.dataset.stop;
      listening.start();
    }

    button.addEventListener("click", function () {
      if (listening) return listening.stop();
      let asked = null;
      try { asked = localStorage.getItem(ASKED); } catch { /* asked again next time */ }
      if (asked) return listen();
      note.hidden = false;
      return note.querySelector("[data-voice-yes]").focus();
    });
    note.querySelector("[data-voice-yes]").addEventListener("click", function () {
      try { localStorage.setItem(ASKED, "yes"); } catch { /* asked again next time */ }
      listen();
    });
  }

  function startAll(root) {
    if (root.matches && root.matches("form[data-keypad]")) start(root);
    root.querySelectorAll("form[data-keypad]").forEach(start);
  }
  if (!Recognition) return;
  startAll(document);
  document.addEventListener("htmx:load", function (event) { if (event.detail.elt !== document.body) startAll(event.detail.elt); });
})();
