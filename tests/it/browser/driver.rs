//! Chromium controlled over pipes: commands on its fd 3, answers on its fd 4, JSON terminated by NUL.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

pub struct Browser {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    session: Option<String>,
    id: u64,
    events: Vec<Value>,
    /// Exceptions, console errors, and requests for anything but local files.
    pub troubles: Vec<String>,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// A fresh browser with one page, or none if there is no Chromium.
    pub fn start() -> Option<Self> {
        let program = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"]
            .into_iter()
            .find(|p| std::path::Path::new(p).exists())?;
        let profile = tempfile::tempdir().unwrap();
        let mut child = Command::new("sh")
            .args(["-c", "exec \"$0\" \"$@\" 3<&0 4>&1 </dev/null >/dev/null 2>/dev/null", program])
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
            .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
            .args([
                "--remote-debugging-pipe",
                &format!("--user-data-dir={}", profile.path().display()),
                "about:blank",
            ])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let (to, from) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
        let mut b = Browser {
            child,
            to,
            from,
            session: None,
            id: 0,
            events: Vec::new(),
            troubles: Vec::new(),
            _profile: profile,
        };
        let target = b.send("Target.createTarget", json!({ "url": "about:blank" }))["targetId"].clone();
        let session = b.send("Target.attachToTarget", json!({ "targetId": target, "flatten": true }));
        b.session = Some(session["sessionId"].as_str().unwrap().to_owned());
        for domain in ["Page", "Runtime", "Log", "Network", "Accessibility"] {
            b.send(&format!("{domain}.enable"), json!({}));
        }
        b.send("Page.setLifecycleEventsEnabled", json!({ "enabled": true }));
        Some(b)
    }

    /// Sends a command and returns its result; events received meanwhile are kept.
    pub fn send(&mut self, method: &str, params: Value) -> Value {
        self.id += 1;
        let mut message = json!({ "id": self.id, "method": method, "params": params });
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        self.to.write_all(format!("{message}\0").as_bytes()).unwrap();
        loop {
            let answer = self.read();
            if answer["id"] == self.id {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].clone();
            }
            self.meet(answer);
        }
    }

    fn read(&mut self) -> Value {
        let mut bytes = Vec::new();
        let n = self.from.read_until(0, &mut bytes).unwrap();
        assert!(n > 0, "the browser ended");
        bytes.pop();
        serde_json::from_slice(&bytes).unwrap()
    }

    fn meet(&mut self, event: Value) {
        let p = &event["params"];
        match event["method"].as_str().unwrap_or("") {
            "Runtime.exceptionThrown" => self.troubles.push(p["exceptionDetails"].to_string()),
            "Log.entryAdded" => self.troubles.push(p["entry"]["text"].to_string()),
            "Runtime.consoleAPICalled" if p["type"] == "error" => self.troubles.push(p["args"].to_string()),
            "Network.requestWillBeSent" => {
                let url = p["request"]["url"].as_str().unwrap_or("");
                if !(url.starts_with("file:") || url.starts_with("data:")) {
                    self.troubles.push(format!("asked for {url}"));
                }
            }
            _ => {}
        }
        self.events.push(event);
    }

    /// Opens a page in a window of this width (CSS pixels) and waits until this navigation has loaded: the load event of the
    /// previous page may arrive late, and an empty page passes most checks.
    pub fn open(&mut self, url: &str, width: i64) {
        let metrics = json!({ "width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false });
        self.send("Emulation.setDeviceMetricsOverride", metrics);
        self.events.clear();
        let loader = self.send("Page.navigate", json!({ "url": url }))["loaderId"].clone();
        assert!(loader.is_string(), "{url} was not navigated to");
        let loaded = |e: &Value| {
            e["method"] == "Page.lifecycleEvent"
                && e["params"]["name"] == "load"
                && e["params"]["loaderId"] == loader
        };
        while !self.events.iter().any(loaded) {
            let event = self.read();
            self.meet(event);
        }
        let at = self.eval("location.href");
        assert_eq!(at, url);
    }

    /// Value of an expression in the page; of a promise, what it comes to.
    pub fn eval(&mut self, expression: &str) -> Value {
        let answer = self.send(
            "Runtime.evaluate",
            json!({ "expression": expression, "returnByValue": true, "awaitPromise": true }),
        );
        assert!(answer["exceptionDetails"].is_null(), "{expression}: {}", answer["exceptionDetails"]);
        answer["result"]["value"].clone()
    }

    /// Presses and releases a key.
    pub fn key(&mut self, key: &str) {
        for kind in ["keyDown", "keyUp"] {
            self.send("Input.dispatchKeyEvent", json!({ "type": kind, "key": key, "code": key }));
        }
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
