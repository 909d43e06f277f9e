package port

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"strconv"
	"strings"
)

// ErrBench is the error of a port that equipment in use might be connected to, and that was not said to be on a bench.
var ErrBench = errors.New("simulated positions must never reach equipment that someone navigates by: give --bench, " +
	"your word that what is at the other end is on a bench")

// checkAddress completes an address to host:port and refuses one that is not of this machine alone, unless bench is
// true. "4001" is 127.0.0.1:4001. Network is tcp, to listen at, or udp, to send to.
func checkAddress(network, address string, bench bool) (string, error) {
	example := "127.0.0.1:4001"
	host, service := "", address
	if strings.Contains(address, ":") {
		var err error
		if host, service, err = net.SplitHostPort(address); err != nil {
			return "", fmt.Errorf("port: %s address %q: %w; write it like %s or [::1]:4001", network, address, err, example)
		}
	}
	n, err := strconv.ParseUint(service, 10, 16)
	least := "0, for any free one,"
	if network == "udp" {
		least = "1"
	}
	if err != nil || n == 0 && network == "udp" {
		return "", fmt.Errorf("port: %s address %q: the port is %q, allowed: a number from %s to 65535, as in %s", network, address, service, least, example)
	}
	if host == "" || host == "localhost" {
		host = "127.0.0.1"
	}
	ip, err := netip.ParseAddr(host)
	if err != nil {
		return "", fmt.Errorf("port: %s address %q: %q is no IP address; write it like %s or [::1]:4001", network, address, host, example)
	}
	full := net.JoinHostPort(host, strconv.FormatUint(n, 10))
	if !ip.Unmap().IsLoopback() && !bench {
		return "", fmt.Errorf("port: %s is not an address of this machine alone: %w", full, ErrBench)
	}
	return full, nil
}
