// The keys below the screen, the device's keyboard on request, and a finger that scrolls.
(function () {
  "use strict";
  const link = window.seasonlogLink;
  const KEYS = {
    esc: "\x1b", tab: "\t", enter: "\r", delete: "\x7f", menu: "\x10", stop: "\x1b[20~", help: "\x1bOP",
    up: "\x1b[A", down: "\x1b[B", right: "\x1b[C", left: "\x1b[D",
  };
  const HOLD_MS = 450;
  const REPEAT_MS = 110;
  const letters = document.getElementById("letters");
  const screen = document.getElementById("screen");
  const typing = () => document.querySelector(".xterm-helper-textarea");

  // -- keys: the screen keeps the focus, so that a keyboard that is open stays open -----------------------------

  let repeating = 0;

  function stop() {
    clearTimeout(repeating);
    document.querySelectorAll("button.down").forEach((button) => button.classList.remove("down"));
  }

  function press(button) {
    link.type(KEYS[button.dataset.keys]);
  }

  function hold(button) {
    press(button);
    repeating = setTimeout(() => hold(button), REPEAT_MS);
  }

  document.querySelectorAll("#keys [data-keys]").forEach((button) => {
    button.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      stop();
      button.classList.add("down");
      press(button);
      if ("repeats" in button.dataset) repeating = setTimeout(() => hold(button), HOLD_MS);
    });
    button.addEventListener("click", (event) => { if (event.detail === 0) press(button); }); // by a keyboard
  });
  ["pointerup", "pointercancel", "blur"].forEach((name) => window.addEventListener(name, stop));
  document.getElementById("keys").addEventListener("mousedown", (event) => event.preventDefault());
  document.getElementById("keys").addEventListener("contextmenu", (event) => event.preventDefault());

  // -- the device's keyboard: comes only when asked for, else every tap would bring it ---------------------------

  function letKeyboard(open) {
    const area = typing();
    if (!area) return;
    letters.setAttribute("aria-pressed", String(open));
    area.blur();
    area.inputMode = open ? "text" : "none";
    area.focus({ preventScroll: true });
  }

  letters.addEventListener("click", () => letKeyboard(letters.getAttribute("aria-pressed") !== "true"));
  window.addEventListener("seasonlog-terminal", () => letKeyboard(false));

  // -- a finger that moves scrolls what is under it -------------------------------------------------------------

  let last = null;

  function cell(touch) {
    const box = document.querySelector(".xterm-screen").getBoundingClientRect();
    const at = (part, of, most) => Math.min(Math.max(Math.floor((part / of) * most) + 1, 1), most);
    return {
      column: at(touch.clientX - box.left, box.width, link.columns),
      row: at(touch.clientY - box.top, box.height, link.rows),
      height: box.height / link.rows,
    };
  }

  screen.addEventListener("touchstart", (event) => {
    last = event.touches.length === 1 ? event.touches[0].clientY : null;
  }, { passive: true });

  screen.addEventListener("touchmove", (event) => {
    if (last === null || event.touches.length !== 1) return;
    const at = cell(event.touches[0]);
    const lines = Math.trunc((event.touches[0].clientY - last) / at.height);
    if (lines === 0) return;
    last += lines * at.height;
    link.type(`\x1b[<${lines > 0 ? 64 : 65};${at.column};${at.row}M`.repeat(Math.min(Math.abs(lines), 20)));
  }, { passive: true });
})();
