"""Where the server listens."""

import asyncio
import socket

from firstpour.web.addresses import listening
from web.test_runs import in_a_loop


def test_an_answer_is_sent_at_once_and_waits_for_no_acknowledgement() -> None:
    """Without TCP_NODELAY an answer in two waits 40 ms (RFC 896 and delayed acknowledgements, from memory)."""

    async def asked() -> int:
        found: asyncio.Future[int] = asyncio.get_running_loop().create_future()

        async def met(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            taken: socket.socket = writer.get_extra_info("socket")
            found.set_result(taken.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            writer.close()

        with listening(0, lan=False) as listener:
            async with await asyncio.start_server(met, sock=listener):
                _, writer = await asyncio.open_connection(*listener.getsockname())
                known = await found
                writer.close()
        return known

    assert in_a_loop(asked()) != 0
