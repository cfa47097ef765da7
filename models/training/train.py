"""Train the ear: batches made on the GPU, until a given time is up.

Rule of this file: the learning rate follows the clock, so that a run always
ends with a finished model; a run can go on from the files that another left,
and one schedule can be spread over several runs (--begins, --ends).

    python -m models.training.train --data DIR --out DIR --minutes 9 [--resume DIR]

On several GPUs of one machine, each with batches of its own:

    torchrun --standalone --nproc_per_node 2 -m models.training.train ...
"""

from __future__ import annotations

import argparse
import copy
import math
import multiprocessing
import os
import time
from pathlib import Path

import numpy as np
import torch
import torch.distributed as dist
from torch import Tensor, nn

from callout.ear import mel
from models.training import data
from models.training.augment import Studio, made_noises, masked
from models.training.features import Features, agree, mouths
from models.training.losses import agreement_loss, contest_loss, phone_loss
from models.training.network import Ear, Shape, load_trunk
from models.training.prepare import GROUPS, TRAIN

RANK, WORLD = int(os.environ.get("RANK", "0")), int(os.environ.get("WORLD_SIZE", "1"))
"""Which of how many GPUs this process has (set by torchrun)."""
SIZES = {"short": (80, 1.0), "long": (186, 0.42)}
"""Steps of an item that count, and share of the batch size."""


def samples_of(steps: int, ahead: int) -> int:
    """Samples that give exactly so many steps and the look-ahead after them."""
    return (steps + ahead) * 4 * mel.HOP + mel.WINDOW - mel.HOP


def stretches(index: Path, files: dict[str, int], group: str) -> np.ndarray:
    """Start and length of every training clip of a group of sounds without text."""
    held = np.load(index)
    table = held["clips"]
    table = table[(table[:, 4] == GROUPS.index(group)) & (table[:, 5] == TRAIN)]
    return np.stack([table[:, 1] + np.array(list(files.values()))[table[:, 0]], table[:, 2]], 1)


class Feeder:
    """Plans batches in processes of their own, so that the GPU never waits for them.

    They are forked: to be made before the GPU is first used.
    """

    def __init__(self, corpus: data.Corpus, options: argparse.Namespace, ahead: int) -> None:
        forked = multiprocessing.get_context("fork")
        self.ready: multiprocessing.Queue[tuple[str, data.Plan]] = forked.Queue(24)
        self.options, self.ahead = options, ahead
        for seed in range(3):
            own = 10 * RANK + seed
            planner = data.Planner(corpus, options.seed * 100 + own)
            forked.Process(target=self._work, args=(planner, own), daemon=True).start()

    def _work(self, planner: data.Planner, seed: int) -> None:
        rng = np.random.default_rng((self.options.seed, seed))
        while True:
            kind = "long" if rng.random() < 0.15 else "short"
            steps, share = SIZES[kind]
            plan = planner.plan(
                int(self.options.batch * share),
                samples_of(steps, self.ahead),
                self.options.contests,
                self.options.rivals,
            )
            self.ready.put((kind, plan))


def parse() -> argparse.Namespace:
    """The options."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--data", type=Path, required=True)
    options.add_argument("--out", type=Path, required=True)
    options.add_argument("--resume", type=Path)
    options.add_argument("--minutes", type=float, default=9.0)
    options.add_argument("--batch", type=int, default=128, help="items, each in two views")
    options.add_argument("--contests", type=int, default=96)
    options.add_argument("--rivals", type=int, default=20)
    options.add_argument("--peak", type=float, default=2e-3)
    options.add_argument("--last", type=float, default=0.02, help="share of the peak at the end")
    options.add_argument("--contest-from", type=float, default=0.25, help="share of the time")
    options.add_argument("--contest-weight", type=float, default=0.25)
    options.add_argument("--agreement", type=float, default=0.3, help="weight of two views alike")
    options.add_argument("--dropout", type=float, default=0.15)
    options.add_argument("--masks", type=float, default=1.5, help="width of what is blanked")
    options.add_argument("--decay", type=float, default=0.02)
    options.add_argument("--early", type=float, default=0.03, help="nats a phone and a step")
    options.add_argument("--begins", type=float, default=0.0, help="share of the schedule done")
    options.add_argument("--ends", type=float, default=1.0, help="share of it done afterwards")
    options.add_argument("--trunk-rate", type=float, default=0.2)
    options.add_argument("--ema", type=float, default=0.9985)
    options.add_argument("--made-noises", type=int, default=160)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--device", default="cuda")
    return options.parse_args()


def rate_at(progress: float, options: argparse.Namespace) -> float:
    """Learning rate as a share of the peak: a short rise, then half a cosine."""
    rise = 0.03
    if progress < rise:
        return progress / rise
    turn = (progress - rise) / (1 - rise)
    return options.last + (1 - options.last) * 0.5 * (1 + math.cos(math.pi * min(1.0, turn)))


def build(options: argparse.Namespace) -> tuple[Ear, Ear]:
    """The network to train and its moving average."""
    ear = Ear(Shape(dropout=options.dropout))
    if options.resume:
        ear.load_state_dict(torch.load(options.resume / "model.pt", map_location="cpu"))
        average = copy.deepcopy(ear)
        average.load_state_dict(torch.load(options.resume / "average.pt", map_location="cpu"))
    else:
        held = np.load(options.data / "trunk.npz")
        load_trunk(ear, {k: torch.tensor(held[k]) for k in held.files})
        average = copy.deepcopy(ear)
    for net in (ear, average):
        net.to(options.device).trunk.to(memory_format=torch.channels_last)
    return ear, average.eval()


def studios(options: argparse.Namespace, corpus: data.Corpus, ahead: int) -> dict[str, Studio]:
    """One studio for each size of item, over one sound on the GPU."""
    held = np.load(options.data / "index.npz")
    starts = dict(zip(held["files"].tolist(), corpus.starts.tolist(), strict=True))
    made = made_noises(options.made_noises, options.seed)
    sound = np.concatenate([corpus.sound, *made])
    at = len(corpus.sound) + np.cumsum([0, *[len(m) for m in made]])[:-1]
    own = np.stack([at, [len(m) for m in made]], 1)
    recorded = stretches(options.data / "index.npz", starts, "noise")
    # Recorded noise counts as much as made noise, helicopters twice.
    noises = np.concatenate([own, *[recorded] * max(1, len(own) // len(recorded))])
    talks = stretches(options.data / "index.npz", starts, "talk")
    on_gpu = torch.as_tensor(sound).to(options.device)
    tables = [torch.as_tensor(t).to(options.device) for t in (noises, talks)]
    return {
        kind: Studio(on_gpu, *tables, samples_of(steps, ahead))
        for kind, (steps, _) in SIZES.items()
    }


class Trainer:
    """The loop and what it needs."""

    def __init__(self, options: argparse.Namespace) -> None:
        self.options = options
        torch.backends.cuda.matmul.allow_tf32 = True
        torch.backends.cudnn.allow_tf32 = True
        torch.backends.cudnn.benchmark = True
        agree()
        began = time.time()
        corpus = data.load(options.data / "sets", options.data / "index.npz")
        self.ahead = Shape().look_ahead
        self.feeder = Feeder(corpus, options, self.ahead)
        if WORLD > 1:
            torch.cuda.set_device(RANK)
            dist.init_process_group("nccl")
        torch.manual_seed(options.seed + 1_000 * RANK)
        self.ear, self.average = build(options)
        shared = {"device_ids": [RANK], "broadcast_buffers": False}
        self.net = (
            nn.parallel.DistributedDataParallel(self.ear, **shared) if WORLD > 1 else self.ear
        )
        self.studios = studios(options, corpus, self.ahead)
        self.features = {
            kind: Features(samples_of(steps, self.ahead)).to(options.device)
            for kind, (steps, _) in SIZES.items()
        }
        trunk = set(self.ear.trunk.parameters())
        rest = [p for p in self.ear.parameters() if p not in trunk]
        self.rates = [options.trunk_rate, 1.0]
        self.optimiser = torch.optim.AdamW(
            [{"params": list(trunk)}, {"params": rest}],
            lr=options.peak,
            betas=(0.9, 0.98),
            weight_decay=options.decay,
            **({"fused": True} if options.device == "cuda" else {}),
        )
        print(f"ready after {time.time() - began:.0f} s, {len(corpus.clips)} clips", flush=True)

    def loss(self, kind: str, plan: data.Plan, contest: bool) -> tuple[Tensor, list[Tensor]]:
        """The loss of one batch and its parts."""
        device, early = self.options.device, self.options.early
        with torch.no_grad():
            sound, ratio = self.studios[kind].make(plan, views=2)
            warp = mouths(len(sound), device)
            rows = self.features[kind](sound, warp, running=True)
            rows = masked(rows, mel.BANDS, self.options.masks)
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            logp, middle, _ = self.net(rows)
        logp, steps = logp[:, self.ahead :], SIZES[kind][0]
        target = torch.as_tensor(plan.target).to(device, non_blocking=True).repeat(1, 2, 1)
        lengths = torch.as_tensor(plan.target_n).repeat(1, 2)
        known = torch.as_tensor(plan.known).to(device)
        main = phone_loss(logp, target, lengths, early, known.repeat(2))
        middle = middle[:, : steps + self.ahead]
        half = phone_loss(middle, target, lengths, early, known.repeat(2))
        once = torch.as_tensor(plan.target_n[0]).to(device)
        apart = agreement_loss(logp, ratio, once, known)
        total = main + 0.3 * half + self.options.agreement * apart
        parts = [main.detach(), half.detach(), apart.detach()]
        if contest and len(plan.contest):
            lost, won = self.contest(plan, logp, target, lengths)
            total = total + self.options.contest_weight * lost
            parts += [lost.detach(), won]
        return total, parts

    def contest(
        self, plan: data.Plan, logp: Tensor, target: Tensor, lengths: Tensor
    ) -> tuple[Tensor, Tensor]:
        """The contest of both views of the items that have rivals."""
        places = np.concatenate([plan.contest, plan.contest + len(plan.known)])
        chosen = torch.as_tensor(places).to(logp.device)
        rival = torch.as_tensor(plan.rival).to(logp.device, torch.long, non_blocking=True)
        return contest_loss(
            logp[chosen],
            target[:, chosen],
            lengths[:, places],
            rival.repeat(2, 1, 1),
            torch.as_tensor(plan.rival_n).repeat(2, 1),
            margin=2.0,
        )

    def run(self) -> None:
        """Train until the time is up; write the files."""
        began, step, seen, elapsed = time.time(), 0, [], 0.0
        limit, asked = self.options.minutes * 60, self.options
        while True:
            elapsed = self.agreed(began) if step % 10 == 0 else elapsed
            if elapsed >= limit:
                break
            progress = asked.begins + (asked.ends - asked.begins) * elapsed / limit
            for group, share in zip(self.optimiser.param_groups, self.rates, strict=True):
                group["lr"] = self.options.peak * share * rate_at(progress, self.options)
            kind, plan = self.feeder.ready.get()
            total, parts = self.loss(kind, plan, progress >= self.options.contest_from)
            self.optimiser.zero_grad(set_to_none=True)
            total.backward()
            torch.nn.utils.clip_grad_norm_(self.ear.parameters(), 2.0)
            self.optimiser.step()
            self.follow(step)
            step += 1
            if step % 50 == 0 or step < 5:
                seen.append([float(p) for p in parts])
            if RANK == 0 and (step % 500 == 0 or step in (5, 50)):
                width = len(seen[-1])
                recent = np.mean([s for s in seen[-10:] if len(s) == width], 0).round(3)
                print(f"{step} {elapsed:.0f} s {recent.tolist()}", flush=True)
            if step % 1_000 == 0:
                self.save()
        self.save()
        print(f"{step} steps in {time.time() - began:.0f} s", flush=True)

    def agreed(self, began: float) -> float:
        """Seconds since the beginning, by the first GPU's clock, so that all stop together."""
        passed = torch.tensor(time.time() - began, device=self.options.device)
        if WORLD > 1:
            dist.broadcast(passed, 0)
        return float(passed)

    @torch.no_grad()
    def follow(self, step: int) -> None:
        """Move the average towards the weights."""
        share = 1 - min(self.options.ema, (step + 1) / (step + 10))
        if self.options.resume:
            share = 1 - self.options.ema
        mine = list(self.average.parameters())
        torch._foreach_mul_(mine, 1 - share)
        torch._foreach_add_(mine, list(self.ear.parameters()), alpha=share)

    def save(self) -> None:
        """Write the weights and their average."""
        if RANK != 0:
            return
        self.options.out.mkdir(parents=True, exist_ok=True)
        torch.save(self.ear.state_dict(), self.options.out / "model.pt")
        torch.save(self.average.state_dict(), self.options.out / "average.pt")


if __name__ == "__main__":
    Trainer(parse()).run()
