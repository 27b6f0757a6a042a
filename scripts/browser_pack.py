"""browser_pack.py FILE PACKED ...: each FILE as a zlib stream (RFC 1950), as small as it gets."""
import sys
import zlib

for source, packed in zip(sys.argv[1::2], sys.argv[2::2]):
    with open(source, "rb") as f:
        content = f.read()
    with open(packed, "wb") as f:
        f.write(zlib.compress(content, 9))
