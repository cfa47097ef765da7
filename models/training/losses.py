"""What the network is trained for: the phones, and the right phrase before its rivals.

Rule of this file: log-probabilities in, one number out.
"""

from __future__ import annotations

import torch
from torch import Tensor
from torch.nn import functional


def scores(logp: Tensor, phones: Tensor, lengths: Tensor) -> Tensor:
    """Exact CTC log-probability of each phone sequence.

    Args:
        logp: [items, steps, outputs]
        phones: [items, k, longest], zeros after the end
        lengths: [items, k], on the CPU

    Returns:
        [items, k]; -1e4 where the steps do not suffice
    """
    items, k, longest = phones.shape
    steps = logp.shape[1]
    spread = logp[:, None].expand(-1, k, -1, -1).reshape(items * k, steps, -1).transpose(0, 1)
    lost = functional.ctc_loss(
        spread,
        phones.reshape(items * k, longest),
        torch.full((items * k,), steps),
        lengths.reshape(-1),
        reduction="none",
    )
    return -lost.clamp(max=1e4).reshape(items, k)


def phone_loss(
    logp: Tensor, target: Tensor, lengths: Tensor, early: float = 0.0, known: Tensor | None = None
) -> Tensor:
    """CTC loss of the likelier of two pronunciations, per phone, averaged.

    With `early`, an alignment costs so many nats for each phone and each step
    that the phone is shown later: of two alignments that fit as well, the
    earlier one is learnt, so that a word is known sooner (the idea of
    delay-penalized CTC, Yao et al. 2023, from memory). Only which alignments
    are learnt from is shifted; the value is the plain loss.

    Args:
        logp: [batch, steps, outputs]
        target: [2, batch, longest]
        lengths: [2, batch], on the CPU
        known: bool [batch]; what an item says that is not is unknown: it counts for nothing
    """
    weight = 1.0 / (4.0 + lengths[0]).to(logp.device)
    if known is not None:
        weight = weight * known
    if not early:
        right = torch.logsumexp(scores(logp, target.transpose(0, 1), lengths.T), 1)
        return -(right * weight * (right > -5e3)).sum() / len(logp)
    shares, value = _shares(logp.detach(), target, lengths, weight, early)
    learnt = -(shares * logp).sum() / len(logp)
    return learnt + (value - learnt).detach()


def _shares(
    logp: Tensor, target: Tensor, lengths: Tensor, weight: Tensor, early: float
) -> tuple[Tensor, Tensor]:
    """How much of each item's alignments goes through each output, weighed; and the loss."""
    later = torch.arange(logp.shape[1], device=logp.device, dtype=logp.dtype)[None, :, None]
    biased = logp - early * later
    biased[:, :, 0] = logp[:, :, 0]
    biased.requires_grad_()
    with torch.enable_grad():
        right = torch.logsumexp(scores(biased, target.transpose(0, 1), lengths.T), 1)
        weighed = weight * (right > -5e3)
        (slope,) = torch.autograd.grad((right * weighed).sum(), biased)
    # The built-in gradient is that of scores whose probabilities sum to one: it takes
    # the probabilities off, which is put right here.
    shares = slope + weighed[:, None, None] * biased.detach().exp()
    return shares, -(right.detach() * weighed).sum() / len(logp)


UNKNOWN_LONG = 25
"""About so many phones are in an item of talk whose words are unknown."""


def agreement_loss(logp: Tensor, ratio: Tensor, lengths: Tensor, known: Tensor) -> Tensor:
    """How far two views of the same items are apart, the noisier learning from the clearer.

    After CR-CTC (Yao et al. 2024, from memory: two views of an utterance, each
    taught what the other shows); there both count alike, here by how much
    clearer one is, so that what is heard in quiet is learnt for noise. Needs no
    text: talk in which nobody knows the words counts as well.

    Args:
        logp: [2 * batch, steps, outputs], one view after the other
        ratio: speech to noise, dB [2 * batch, 1]
        lengths: phones of each item, [batch]
        known: bool [batch]

    Returns:
        Kullback-Leibler divergence summed over the steps, per phone, averaged
    """
    one, two = logp.chunk(2)
    clear = torch.sigmoid((ratio.chunk(2)[1] - ratio.chunk(2)[0])[:, 0] / 4)
    phones = torch.where(known, lengths, torch.full_like(lengths, UNKNOWN_LONG))
    apart = clear * _divergence(two.detach(), one) + (1 - clear) * _divergence(one.detach(), two)
    return (apart / (4.0 + phones)).mean()


def _divergence(teacher: Tensor, learner: Tensor) -> Tensor:
    """Sum over steps of KL(teacher || learner), [batch]."""
    return (teacher.exp() * (teacher - learner)).sum((1, 2))


def contest_loss(
    logp: Tensor,
    target: Tensor,
    lengths: Tensor,
    rival: Tensor,
    rival_lengths: Tensor,
    margin: float,
) -> tuple[Tensor, Tensor]:
    """Cross-entropy of the right phrase among its rivals, by exact CTC score.

    This is the decision that a closed set of phrases makes; rivals get a head
    start of `margin`, so that a narrow win is not enough.

    Returns:
        the loss, and the share of items that the right phrase wins
    """
    right = torch.logsumexp(scores(logp, target.transpose(0, 1), lengths.T), 1, keepdim=True)
    others = scores(logp, rival, rival_lengths)
    logits = torch.cat([right, others + margin], 1)
    possible = right[:, 0] > -5e3
    loss = -(functional.log_softmax(logits, 1)[:, 0].clamp(min=-30) * possible).mean()
    return loss, (right[:, 0] > others.amax(1)).float().mean()
