// Before the terminal's own script: keeps hold of its link, and marks the styles it makes as ours.
(function () {
  "use strict";
  const nonce = document.currentScript.nonce;
  const PING_MS = 4000;
  const LOST_MS = 12000;
  const FOCUS_MS = [0, 400, 1500, 5000];

  const make = document.createElement.bind(document);
  document.createElement = function (name, options) {
    const element = make(name, options);
    if (String(name).toLowerCase() === "style") element.nonce = nonce;
    return element;
  };

  // An address that somebody wrote into a note is text: only files of this server open.
  const open = window.open.bind(window);
  window.open = (url, ...how) => (url && new URL(url, location.href).origin === location.origin ? open(url, ...how) : null);

  const link = { socket: null, columns: 80, rows: 24, said: "", listeners: [] };
  window.seasonlogLink = link;

  link.type = function (text) {
    if (!link.socket) return;
    link.socket.send('["focus"]');
    link.socket.send(JSON.stringify(["stdin", text]));
  };

  function told(event) {
    link.listeners.forEach((listener) => listener(event));
  }

  // A link that is cut without a word is noticed by what does not come back.
  function watch(socket) {
    let heard = Date.now();
    let asked = false;
    socket.addEventListener("message", () => { heard = Date.now(); asked = false; });
    const timer = setInterval(() => {
      if (asked && Date.now() - heard > LOST_MS) socket.lose();
      else { socket.send(JSON.stringify(["ping", "link"])); asked = true; }
    }, PING_MS);
    socket.addEventListener("close", () => clearInterval(timer));
  }

  class Link extends WebSocket {
    constructor(url, protocols) {
      super(url, protocols);
      link.socket = this;
      this.over = false;
      this.opened = false;
      this.drawn = false;
      this.addEventListener("open", () => {
        this.opened = true;
        watch(this);
        told("open");
      });
      this.addEventListener("message", (event) => this.hear(event));
      this.addEventListener("close", (event) => this.end(event.code === 1000 ? "left" : this.opened ? "lost" : "refused"));
    }

    send(data) {
      if (this.readyState !== WebSocket.OPEN || data === '["blur"]') return; // an app on a tablet has one window
      if (data.startsWith('["resize"')) {
        const size = JSON.parse(data)[1];
        link.columns = size.width;
        link.rows = size.height;
      }
      super.send(data);
    }

    hear(event) {
      if (typeof event.data !== "string") return this.draw();
      const message = JSON.parse(event.data);
      if (message[0] === "said") link.said = message[1];
    }

    // Textual begins as if its window were behind others, some time after the first bytes: keys would do nothing.
    draw() {
      if (!this.drawn) FOCUS_MS.forEach((pause) => setTimeout(() => this.send('["focus"]'), pause));
      this.drawn = true;
      told("drawn");
    }

    lose() {
      this.end("lost");
      this.close();
    }

    end(how) {
      if (this.over) return;
      this.over = true;
      told(how);
    }
  }
  window.WebSocket = Link;
  window.addEventListener("offline", () => { if (link.socket && link.socket.opened) link.socket.lose(); });
})();
