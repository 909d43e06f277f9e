"""A consumer at a remote serial port, with pyserial's own RFC 2217 client: rfc2217_client.py HOST:PORT

It takes one order a line, and answers each with one line; "end" ends it.

set BAUD BITS PARITY STOP   sets all four; answers "ok"
read N                      answers with N bytes in hex
write HEX                   answers "ok"
lines                       answers with CTS, DSR, RI and CD
dtr 0|1, rts 0|1, break 0|1 answers "ok"
purge                       answers "ok"
"""

import sys

import serial


def main():
    port = serial.serial_for_url("rfc2217://" + sys.argv[1], timeout=10)
    print("open", flush=True)
    for order in sys.stdin:
        word, *rest = order.split()
        answer = "ok"
        try:
            if word == "set":
                baud, bits, parity, stop = rest
                port.baudrate = int(baud)
                port.bytesize = int(bits)
                port.parity = parity
                port.stopbits = float(stop)
            elif word == "read":
                answer = port.read(int(rest[0])).hex()
            elif word == "write":
                port.write(bytes.fromhex(rest[0]))
            elif word == "lines":
                answer = "cts %d dsr %d ri %d cd %d" % (port.cts, port.dsr, port.ri, port.cd)
            elif word == "dtr":
                port.dtr = rest[0] == "1"
            elif word == "rts":
                port.rts = rest[0] == "1"
            elif word == "break":
                port.break_condition = rest[0] == "1"
            elif word == "purge":
                port.reset_input_buffer()
                port.reset_output_buffer()
            elif word == "end":
                port.close()
                return
        except Exception as e:
            answer = "%s: %s" % (type(e).__name__, e)
        print(answer, flush=True)


main()
