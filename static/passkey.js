// A passkey in place of the passphrase: this phone's own lock. What a browser can't do is not offered.
"use strict";

(() => {
  const part = document.getElementById("passkey");
  if (!part || !window.PublicKeyCredential?.parseRequestOptionsFromJSON) return;
  const { passkey, ask, answer } = part.dataset;
  const post = (address, body) => fetch(address, { method: "POST", body, redirect: "error", headers: { Accept: "application/json" } });

  function signed(options) {
    return passkey === "new"
      ? navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(options) })
      : navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(options) });
  }

  async function use() {
    say("Waiting for this device's lock.");
    const options = await (await post(ask)).json();
    const data = new FormData(part.closest("form"));
    data.set("credential", JSON.stringify(await signed(options)));
    const said = await post(answer, data);
    const text = await said.text();
    if (said.ok) return location.assign(said.headers.get("Content-Location"));
    say(messages(text).join(" ") || `The server refused it (${said.status}).`);
  }

  const start = () =>
    use().catch((error) => say(error.name === "TypeError" ? "No connection to the server." : "No passkey was used."));
  part.hidden = false;
  part.querySelector("button").addEventListener("click", start);
  if (passkey === "new") {
    part.closest("form").addEventListener("submit", (event) => { // the Enter key
      event.preventDefault();
      start();
    });
  }
})();
