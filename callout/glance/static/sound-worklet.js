// On the audio thread: frames of 20 ms from the microphone, clips to the earpiece.
// Rule of this file: it never waits. A clip begins when there is enough of it, and goes on
// in silence when the radio holds the next piece up.
// What comes: a byte of what it is, three of nothing, then 16-bit samples.

const FRAME = 320; // samples at 16 kHz
const ENOUGH = 960; // samples (60 ms) before a clip begins
const FADE = 80; // samples (5 ms) in which a cut clip dies away
const REACH = 0.5; // s without a word from callout
const [SOUND, END, CUT, KEPT, BEAT] = [1, 2, 3, 4, 5];

class Carrier extends AudioWorkletProcessor {
  constructor() {
    super();
    this.frame = new Int16Array(FRAME);
    this.filled = 0;
    this.pieces = [];
    this.at = 0; // sample of the first piece that is next
    this.waiting = 0; // samples that wait to be heard
    this.whole = 0; // clips of which the end has come
    this.playing = false;
    this.fading = 0;
    this.kept = [];
    this.heardAt = null;
    this.out = false;
    this.port.onmessage = (event) => this.take(event.data);
  }

  take(data) {
    const kind = new Uint8Array(data, 0, 1)[0];
    this.heardAt = currentTime;
    this.out = false;
    if (kind === SOUND || kind === KEPT) {
      const samples = Float32Array.from(new Int16Array(data, 4), (one) => one / 32768);
      if (kind === KEPT) this.kept.push(samples);
      else this.put(samples);
    } else if (kind === END) {
      this.pieces.push(null);
      this.whole += 1;
    } else if (kind === CUT) {
      this.fading = this.playing ? FADE : 0;
      if (!this.fading) this.drop();
    }
  }

  put(samples) {
    this.pieces.push(samples);
    this.waiting += samples.length;
  }

  drop() {
    this.pieces = [];
    this.at = this.waiting = this.whole = this.fading = 0;
    this.playing = false;
  }

  process(inputs, outputs) {
    this.catch(inputs[0][0]);
    this.sound(outputs[0][0]);
    if (this.heardAt !== null && !this.out && currentTime - this.heardAt > REACH) {
      this.out = true;
      this.drop();
      this.kept.forEach((one) => this.put(one));
      this.whole = 1;
      this.pieces.push(null);
      this.port.postMessage("out of contact");
    }
    return true;
  }

  catch(input) {
    const count = input ? input.length : 128;
    for (let i = 0; i < count; i++) {
      const sample = input ? Math.max(-1, Math.min(1, input[i])) : 0;
      this.frame[this.filled++] = Math.round(sample * 32767);
      if (this.filled === FRAME) {
        this.port.postMessage(this.frame.buffer, [this.frame.buffer]);
        this.frame = new Int16Array(FRAME);
        this.filled = 0;
      }
    }
  }

  sound(output) {
    if (!this.playing && (this.waiting >= ENOUGH || this.whole)) this.playing = true;
    for (let i = 0; i < output.length && this.playing; i++) {
      const sample = this.next();
      if (sample === null) break;
      output[i] = this.fading ? (sample * this.fading) / FADE : sample;
      if (this.fading && --this.fading === 0) this.drop();
    }
  }

  next() {
    while (this.pieces.length) {
      const first = this.pieces[0];
      if (first !== null && this.at < first.length) {
        this.waiting -= 1;
        return first[this.at++];
      }
      if (first === null) this.whole -= 1;
      this.pieces.shift();
      this.at = 0;
    }
    this.playing = false; // nothing is here: begin again when there is enough
    return null;
  }
}

registerProcessor("carrier", Carrier);
