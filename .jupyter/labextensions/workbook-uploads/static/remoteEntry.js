// Refuses a file that is too large for an upload button, in words beside the button, before anything is sent.
//
// Without it such a file is sent in one message, the server ends the connection without a word, and the button waits
// for an answer for ever. The button keeps its file field to itself, so the field is found in the moment it is opened.
(() => {
  const MOST_BYTES = 10000000; // as helpers/panels/fields.py

  const said = (button, words) => {
    let line = button.nextElementSibling;
    if (!line || !line.classList.contains("workbook-upload-refused")) {
      line = document.createElement("p");
      line.className = "workbook-upload-refused";
      line.setAttribute("role", "alert");
      line.style.cssText = "border-left:6px solid #b35900;padding-left:8px;margin:0 0 4px;line-height:1.35;max-width:280px";
      button.after(line);
    }
    line.textContent = words;
    line.hidden = !words;
  };

  const check = (button) => (event) => {
    const files = Array.from(event.target.files);
    const size = files.reduce((sum, file) => sum + file.size, 0);
    said(button, "");
    if (size <= MOST_BYTES) return;
    event.stopImmediatePropagation();
    const megabytes = (size / 1e6).toFixed(1);
    said(
      button,
      `Not usable: ${files.map((file) => file.name).join(", ")}, ${megabytes} MB; ` +
        `at most ${MOST_BYTES / 1e6} MB can be uploaded. Nothing was sent, and the button works on. ` +
        "A recording that is larger: copy it into the folder my-notes, and type its name into the panel.",
    );
  };

  const activate = () => {
    const open = HTMLInputElement.prototype.click;
    const checked = new WeakSet();
    let pressed = null;
    document.addEventListener("click", (event) => (pressed = event.target.closest?.(".widget-upload")), true);
    HTMLInputElement.prototype.click = function () {
      if (this.type === "file" && pressed && !this.isConnected && !checked.has(this)) {
        checked.add(this);
        this.addEventListener("change", check(pressed), true); // at the field itself a capturing listener comes first
      }
      return open.call(this);
    };
  };

  const plugin = { id: "workbook-uploads:plugin", autoStart: true, activate };
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB["workbook-uploads"] = {
    init: () => {},
    get: async () => () => ({ __esModule: true, default: plugin }),
  };
})();
