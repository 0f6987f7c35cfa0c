"""TLS on a connected socket. Beside the simulated rig runs this very file: who may be talked to is decided once."""

import ssl


def wrap(sock, ca, name):
    """The socket as TLS; its handshake comes with the first packet, so that it is bounded as any wait is.

    ca: the authority's certificate, DER; name: what the broker's own must be for. Raises OSError, ValueError.
    """
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    # Without this line nothing is checked.
    context.verify_mode = ssl.CERT_REQUIRED
    context.load_verify_locations(cadata=ca)
    return context.wrap_socket(sock, server_hostname=name, do_handshake_on_connect=False)
