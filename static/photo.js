// Says that a picture is too large before it is sent. Without its original it is made smaller on this phone first.
"use strict";

(() => {
  const MOST = 12 * 1024 * 1024; // the server takes no more [bytes]

  let asked = 0;

  async function weighed(field) {
    const [file] = field.files;
    if (!file || file.size <= MOST) return "";
    const whole = field.form.elements.original?.checked;
    if (!whole && (await smaller(file)).size <= MOST) return "";
    const said = `This picture has ${(Math.ceil(file.size / 1024 ** 2 * 10) / 10).toFixed(1)} MB, 12 MB is the most.`;
    return `${said} ${whole ? "Without its original it may be small enough." : "Choose another, or let the phone take smaller ones."}`;
  }

  document.addEventListener("change", async (event) => {
    const field = event.target.form?.elements.photo;
    if (field?.type !== "file" || ![field.name, "original"].includes(event.target.name)) return;
    asked += 1;
    const mine = asked;
    const words = await weighed(field);
    if (mine !== asked) return; // something else was chosen meanwhile
    field.setCustomValidity(words);
    document.getElementById("too-large")?.remove();
    if (!words) return;
    const told = document.createElement("p");
    Object.assign(told, { id: "too-large", className: "problem", role: "alert", textContent: words });
    field.after(told);
  });
})();
