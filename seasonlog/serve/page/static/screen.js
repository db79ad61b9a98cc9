// The size of the letters, the start of the terminal, and what is said when the link is over.
(function () {
  "use strict";
  const link = window.seasonlogLink;
  const terminal = document.getElementById("terminal");
  const over = document.getElementById("over");
  const again = document.getElementById("again");
  const begin = window.onload;
  window.onload = null;

  const WORDS = {
    left: ["seasonlog was closed", "What was saved is in the log.", "Open again"],
    lost: [
      "The link is broken",
      "Every answer that was shown as saved is in the log. What was being typed is not: type it again. " +
        "An open visit goes on where it stopped.",
      "Try again",
    ],
    refused: ["The link could not be made", "The server did not take it.", "Try again"],
  };

  // Letters as large as 80 columns on a tablet's long side allow, or 40 on a phone's short side: turning keeps them.
  function lettersPx() {
    const long = Math.max(window.innerWidth, window.innerHeight);
    const short = Math.min(window.innerWidth, window.innerHeight);
    const [room, columns] = short >= 600 ? [Math.max(long, 960), 80] : [short, 40];
    const dots = window.devicePixelRatio || 1;
    for (let px = 22; px > 12; px -= 0.5) {
      if (Math.floor(room / (Math.floor(px * 0.6002 * dots) / dots)) >= columns) return px;
    }
    return 12;
  }

  function fillWindow() {
    const view = window.visualViewport;
    document.documentElement.style.setProperty("--height", (view ? view.height : window.innerHeight) + "px");
    window.scrollTo(0, 0);
    if (window.onresize) window.onresize();
  }

  function show(how) {
    const words = WORDS[how];
    const refusedByApp = how === "left" && link.said;
    document.getElementById("opening").hidden = true;
    document.getElementById("over-title").textContent = refusedByApp ? "seasonlog could not go on" : words[0];
    document.getElementById("over-words").textContent = link.said || words[1];
    document.getElementById("over-more").textContent = "";
    again.textContent = words[2];
    over.hidden = false;
    again.focus();
  }

  async function tryAgain() {
    const more = document.getElementById("over-more");
    more.textContent = "Trying ...";
    try {
      const answer = await fetch("/", { cache: "no-store", credentials: "same-origin" });
      if (answer.ok) return window.location.reload();
      more.textContent = await answer.text();
    } catch {
      more.textContent = "Still no link. Go where there is signal, then try again.";
    }
  }

  link.listeners.push((event) => {
    if (event in WORDS) show(event);
    if (event === "drawn") document.getElementById("opening").hidden = true;
  });
  again.addEventListener("click", tryAgain);

  window.addEventListener("load", async () => {
    terminal.dataset.fontSize = lettersPx();
    await Promise.allSettled(["", "bold "].map((weight) => document.fonts.load(weight + "16px 'Roboto Mono'")));
    begin();
    fillWindow();
    if (window.visualViewport) window.visualViewport.addEventListener("resize", fillWindow);
    window.dispatchEvent(new Event("seasonlog-terminal"));
  });
})();
