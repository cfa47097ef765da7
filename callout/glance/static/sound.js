// This phone as callout's microphone and earpiece, over a stream of its own.
// Rule of this file: it carries. Half a second of sound is kept while the stream is away;
// what is older is dropped, because it would answer what was asked long ago.

const KEPT = 25; // frames of 20 ms
const STUCK = 32768; // bytes that wait in the stream: a second of sound

export class Phone {
  constructor(tell) {
    this.tell = tell;
    this.on = false;
    this.frames = [];
    this.number = 0;
    this.load = crypto.randomUUID();
    document.addEventListener("visibilitychange", () => this.stayAwake());
  }

  async toggle() {
    if (this.on) return this.stop();
    try {
      await this.start();
    } catch (problem) {
      this.stop();
      this.tell(`No sound: ${problem.message}. Press to try again`);
    }
  }

  async start() {
    this.on = true;
    this.tell("Starting");
    this.context = new AudioContext({ sampleRate: 16000, latencyHint: "interactive" });
    await this.context.resume();
    await this.context.audioWorklet.addModule("/sound-worklet.js");
    this.stream = await navigator.mediaDevices.getUserMedia({
      audio: { channelCount: 1, echoCancellation: true, noiseSuppression: false,
        autoGainControl: true },
    });
    this.node = new AudioWorkletNode(this.context, "carrier", { outputChannelCount: [1] });
    this.node.port.onmessage = (event) => this.caught(event.data);
    this.context.createMediaStreamSource(this.stream).connect(this.node);
    this.node.connect(this.context.destination);
    await this.stayAwake();
    this.connect();
  }

  // A browser lets go of both when the page is left for a moment.
  async stayAwake() {
    if (!this.on || document.visibilityState !== "visible") return;
    if (this.context.state !== "running") await this.context.resume().catch(() => null);
    if (navigator.wakeLock) {
      this.awake = await navigator.wakeLock.request("screen").catch(() => null);
    }
  }

  stop() {
    this.on = false;
    if (this.socket) this.socket.close();
    if (this.stream) this.stream.getTracks().forEach((track) => track.stop());
    if (this.context) this.context.close();
    if (this.awake) this.awake.release();
    this.socket = this.stream = this.context = this.awake = null;
    this.tell("Use this phone as microphone and earpiece");
  }

  connect() {
    if (!this.on) return;
    const socket = (this.socket = new WebSocket(`wss://${location.host}/sound?${this.load}`));
    socket.binaryType = "arraybuffer";
    socket.onopen = () => this.send();
    socket.onmessage = (event) => {
      this.tell("Stop using this phone as microphone and earpiece");
      this.node.port.postMessage(event.data, [event.data]);
    };
    socket.onclose = (event) => {
      if (!this.on) return;
      if (event.code === 4003) {
        this.stop();
        this.tell("Another phone is in use. Press to try again");
        return;
      }
      setTimeout(() => this.connect(), 100);
    };
  }

  // From the worklet: a frame of sound, or word that callout is out of reach.
  caught(found) {
    if (found === "out of contact") {
      this.tell("Out of contact: the list is parked");
      return;
    }
    const frame = new Uint8Array(4 + found.byteLength);
    new DataView(frame.buffer).setUint32(0, this.number++, true);
    frame.set(new Uint8Array(found), 4);
    this.frames.push(frame);
    if (this.frames.length > KEPT) this.frames.shift();
    this.send();
  }

  send() {
    if (this.socket.readyState !== WebSocket.OPEN) return;
    while (this.frames.length && this.socket.bufferedAmount < STUCK) {
      this.socket.send(this.frames.shift());
    }
  }
}
