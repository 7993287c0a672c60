"""Train the network of the fine key.

    python examples/matte_network/train.py PICTURES OUT [--seconds 560] [--workers 14]

PICTURES is the folder that `gather.py` fills. Mattes and scenes are drawn by
worker processes while the network trains on those that are there. Writes
OUT/network.pt (to go on from) and OUT/matte.onnx (what the key loads).
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import os
import threading
import time
from pathlib import Path
from typing import Any

import cv2
import mattes
import numpy as np
import textures
import torch
from camera import SIZE, Batch, Camera, mixed, turned
from network import PLANES, Network
from torch import Tensor, distributed, nn

POOL = 6000
"""Crops that are kept to draw batches from."""


def work(pictures: list[str], seed: int, out: Any) -> None:
    """Draw mattes and textures for ever, in a process of its own."""
    cv2.setNumThreads(1)
    rng = np.random.default_rng([18, seed])
    whole = [cv2.imread(name)[..., ::-1] for name in pictures]
    number = seed * 1_000_000
    while True:
        number += 1
        matte = mattes.matte(number)
        for _ in range(3):
            piece = _piece(matte, rng)
            if piece.mean() > 5 or rng.random() < 0.2:  # not too many that are all but empty
                out.put(("matte", piece))
        photograph = rng.random() < 0.5
        scene = (
            textures.crop(whole[rng.integers(len(whole))], rng)
            if photograph
            else textures.leaves(number)
        )
        for _ in range(2):
            out.put(("texture", _piece(scene, rng).transpose(2, 0, 1)))


def _piece(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Take a crop of the size of a batch: mostly as it is, now and then smaller or larger."""
    longest = picture.shape[0]
    side = SIZE if rng.random() < 0.55 else int(rng.choice([0.7, 1.25, 1.6, 2]) * SIZE)
    side = min(side, longest)
    top, left = rng.integers(0, longest - side + 1, 2)
    piece = picture[top : top + side, left : left + side]
    if side != SIZE:
        how = cv2.INTER_AREA if side > SIZE else cv2.INTER_LINEAR
        piece = cv2.resize(piece, (SIZE, SIZE), interpolation=how)
    return np.ascontiguousarray(piece)


class Pool:
    """Crops on the processor that trains; new ones take the place of old ones.

    Parameters
    ----------
    device : torch.device
    channels : int
    """

    def __init__(self, device: torch.device, channels: int, pool: int = POOL) -> None:
        self.crops = torch.zeros(pool, channels, SIZE, SIZE, dtype=torch.uint8, device=device)
        self.seen = 0

    def add(self, pieces: list[np.ndarray]) -> None:
        """Take crops in, all at once."""
        if not pieces:
            return
        crops = torch.from_numpy(np.stack(pieces)).view(-1, *self.crops.shape[1:])
        places = torch.arange(self.seen, self.seen + len(crops)) % len(self.crops)
        device = self.crops.device
        self.crops[places.to(device)] = crops.to(device)
        self.seen += len(crops)

    def draw(self, count: int) -> Tensor:
        """Take a batch in 0..1, each half of it turned in one of four ways."""
        there = min(self.seen, len(self.crops))
        pick = torch.randint(there, (count,), device=self.crops.device)
        crops = self.crops[pick].float() / 255
        half = count // 2
        way = int(torch.randint(4, (1,)))
        first, second = crops[:half], crops[half:]
        first = first.flip(3) if way & 1 else first
        second = second.transpose(2, 3) if way & 2 else second.flip(2)
        return torch.cat([first, second])


def loss_of(answer: Tensor, batch: Batch, camera: Camera) -> Tensor:
    """How wrong an answer is: the matte, its slopes, the colour, and what is laid over a ground."""
    matte, subject = batch.matte, batch.subject
    found, colour = answer[:, :1], answer[:, 1:]
    sure = ((matte > 0.99) | (matte < 0.01)).float()
    off = found - matte
    # what is sure need only be on its side of 1 or 0: it is held there
    beyond = ((matte > 0.99) & (off > 0)) | ((matte < 0.01) & (off < 0))
    off = torch.where(beyond, 0.1 * off, off)
    loss = ((1 + sure) * off.abs()).mean() + 10 * (off**2).mean()
    for step in (1, 2):
        for axis in (2, 3):
            loss = loss + 0.3 * torch.diff(off[:, :, ::step, ::step], dim=axis).abs().mean()
    weights = torch.tensor([1.0, 1.4, 1.4], device=matte.device).view(1, 3, 1, 1)
    apart = (colour - subject).abs() * weights
    loss = loss + (matte * apart).mean() + 0.2 * ((matte > 0.02) * apart).mean()
    held = found.clamp(0, 1)
    ground = camera.uniform(len(matte) * 3, 0, 1).view(-1, 3, 1, 1)
    ground = turned(mixed(camera.to_ycc, ground), batch.turn)
    picture = held * colour + (1 - held) * ground - matte * subject - (1 - matte) * ground
    return loss + (picture * weights).abs().mean() + 4 * (picture**2).mean()


def export(network: nn.Module, path: Path) -> None:
    """Write the network as ONNX, its weights as float16."""
    import onnx
    from onnx import TensorProto, helper, numpy_helper

    rows = {2: "rows", 3: "columns", 0: "tiles"}
    torch.onnx.export(
        network.eval().float().cpu(),
        (torch.zeros(1, PLANES, 256, 256),),
        str(path),
        input_names=["planes"],
        output_names=["answer"],
        dynamic_axes={"planes": rows, "answer": rows},
        opset_version=17,
        dynamo=False,
    )
    model = onnx.load(str(path))
    kept, casts = [], []
    for weights in model.graph.initializer:
        values = numpy_helper.to_array(weights)
        if weights.data_type != TensorProto.FLOAT or values.size < 64:
            kept.append(weights)
            continue
        half = numpy_helper.from_array(values.astype(np.float16), weights.name + ".half")
        kept.append(half)
        casts.append(helper.make_node("Cast", [half.name], [weights.name], to=TensorProto.FLOAT))
    del model.graph.initializer[:]
    model.graph.initializer.extend(kept)
    nodes = [*casts, *model.graph.node]
    del model.graph.node[:]
    model.graph.node.extend(nodes)
    onnx.checker.check_model(model)
    onnx.save(model, str(path))


def train(
    network: Network,
    camera: Camera,
    pools: tuple[Pool, Pool],
    refill: Any,
    *,
    seconds: float,
    count: int,
    rate: float,
    most: int | None = None,
) -> Network:
    """Train for a time, and give the running mean of the weights."""
    device = camera.device
    fast = device.type == "cuda"
    world = distributed.get_world_size() if distributed.is_initialized() else 1
    network.to(device, memory_format=torch.channels_last)
    mean = Network().to(device)
    mean.load_state_dict(network.state_dict())
    steps = torch.optim.AdamW(network.parameters(), lr=rate, weight_decay=1e-4, fused=fast)
    rank = distributed.get_rank() if world > 1 else 0
    began, number = time.time(), 0
    while True:
        if number % 50 == 0 or most is not None:
            spent = (time.time() - began) / seconds if most is None else number / most
            if world > 1:  # all stop at once
                shared = torch.tensor(spent, device=device)
                distributed.all_reduce(shared, distributed.ReduceOp.MAX)
                spent = float(shared)
        if spent >= 1:
            return mean
        slope = min(1, (number + 1) / 300) * (0.5 + 0.5 * math.cos(math.pi * spent))
        for group in steps.param_groups:
            group["lr"] = rate * slope + 1e-6
        if number % 8 == 0:
            refill()
        batch = camera.batch(pools[0].draw(count), pools[1].draw(count))
        planes = batch.planes.to(memory_format=torch.channels_last)
        with torch.autocast(device.type, dtype=torch.bfloat16, enabled=fast):
            answer = network(planes)
        loss = loss_of(answer.float(), batch, camera)
        steps.zero_grad(set_to_none=True)
        loss.backward()
        if world > 1:
            grads = torch.cat([weight.grad.flatten() for weight in network.parameters()])
            distributed.all_reduce(grads, distributed.ReduceOp.AVG)
            parts = grads.split([weight.numel() for weight in network.parameters()])
            for weight, part in zip(network.parameters(), parts, strict=True):
                weight.grad.copy_(part.view_as(weight))
        nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        steps.step()
        with torch.no_grad():
            share = 1 - min(0.9992, (number + 1) / (number + 10))
            torch._foreach_lerp_(list(mean.parameters()), list(network.parameters()), share)
        number += 1
        if number % 500 == 0 and rank == 0:
            error = ((answer[:, :1].clamp(0, 1) - batch.matte) ** 2).mean().item()
            seen = [pool.seen for pool in pools]
            print(
                f"{number} {time.time() - began:.0f} s, {error:.2e}, {loss.item():.4f}, {seen}",
                flush=True,
            )


def hired(names: list[str], seed: int, count: int) -> tuple[Any, list[Any]]:
    """Start the workers; gives the queue they fill and themselves."""
    context = multiprocessing.get_context("spawn")
    ready = context.Queue(400)
    workers = [
        context.Process(target=work, args=(names, seed + index, ready), daemon=True)
        for index in range(count)
    ]
    for worker in workers:
        worker.start()
    return ready, workers


def main() -> None:
    """Read the command line, start the workers, train, write."""
    ask = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    ask.add_argument("pictures", type=Path)
    ask.add_argument("out", type=Path)
    ask.add_argument("--seconds", type=float, default=560)
    ask.add_argument("--steps", type=int, help="instead of seconds")
    ask.add_argument("--workers", type=int, default=14)
    ask.add_argument("--batch", type=int, default=32)
    ask.add_argument("--rate", type=float, default=2e-3)
    ask.add_argument("--seed", type=int, default=16)
    ask.add_argument("--weights", type=Path, help="to go on from")
    given = ask.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    rank, world = int(os.environ.get("RANK", "0")), int(os.environ.get("WORLD_SIZE", "1"))
    if world > 1:
        distributed.init_process_group("nccl")
        torch.cuda.set_device(rank)
    torch.manual_seed(given.seed)
    torch.backends.cudnn.benchmark = True
    device = torch.device(f"cuda:{rank}" if torch.cuda.is_available() else "cpu")
    if device.type == "cpu":
        torch.set_num_threads(2)
    names = sorted(str(path) for path in given.pictures.glob("*.jpg"))
    ready, workers = hired(names, given.seed * 100 + rank * 50, given.workers)
    camera = Camera(device, given.seed * 10 + rank)
    pools = Pool(device, 3), Pool(device, 1)
    by_name = dict(zip(("texture", "matte"), pools, strict=True))

    found: dict[str, list[np.ndarray]] = {"texture": [], "matte": []}

    def read() -> None:  # waits for the workers, so that nobody else need
        while True:
            kind, piece = ready.get()
            found[kind].append(piece)

    threading.Thread(target=read, daemon=True).start()

    def refill() -> None:
        for kind, pool in by_name.items():
            pieces, found[kind] = found[kind], []
            pool.add(pieces)

    least = 200 if device.type == "cuda" else 20
    while min(pool.seen for pool in pools) < least:
        refill()
        time.sleep(0.05)
    torch.manual_seed(given.seed)
    network = Network()
    torch.manual_seed(given.seed * 10 + rank)
    if given.weights is not None:
        network.load_state_dict(torch.load(given.weights, weights_only=True, map_location="cpu"))
    mean = train(
        network, camera, pools, refill,
        seconds=given.seconds, count=given.batch, rate=given.rate, most=given.steps,
    )  # fmt: skip
    if rank == 0:
        torch.save(mean.state_dict(), given.out / "network.pt")
        export(mean, given.out / "matte.onnx")
    for worker in workers:
        worker.terminate()


if __name__ == "__main__":
    main()
