"""A consumer that hunts for the baud rate of a device, as instruments do: hunt.py PORT

It tries one rate after the other, discards what it has, listens for a while, and takes the rate at which three
sentences in a row have a right checksum. It says "set RATE" for each one that it has set, "locked RATE" when it has
found one, and begins again when it is sent a line. It ends with its standard input.
"""

import functools
import operator
import sys
import time

import serial

RATES = [4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600]
LISTEN = 0.25  # seconds a rate, at most


def good(line):
    if not line.startswith(b"$") or len(line) < 4 or line[-3:-2] != b"*":
        return False
    try:
        want = int(line[-2:], 16)
    except ValueError:
        return False
    return functools.reduce(operator.xor, line[1:-3], 0) == want


def listens(port):
    """Tells whether three good sentences in a row come in; rubbish of any length makes it give up early."""
    port.reset_input_buffer()
    buffer, right, wrong, begun = b"", 0, 0, False
    end = time.monotonic() + LISTEN
    while time.monotonic() < end:
        buffer += port.read(max(1, port.in_waiting))
        *lines, buffer = buffer.split(b"\n")
        for line in lines:
            if not begun:  # the first may have begun before we came
                begun = True
            elif good(line.rstrip(b"\r")):
                right += 1
            else:
                right, wrong = 0, wrong + 1
        if right >= 3:
            return True
        if len(buffer) > 200 or wrong > 3:
            return False
    return False


def main():
    with serial.Serial(sys.argv[1], RATES[0], timeout=0.02) as port:
        while True:
            for rate in RATES:
                port.baudrate = rate
                print("set", rate, flush=True)
                if listens(port):
                    print("locked", rate, flush=True)
                    break
            else:
                continue
            if not sys.stdin.readline():
                return


main()
