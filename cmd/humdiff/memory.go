package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// Below this many bytes nothing is collected: most jobs end before they have
// made as much garbage, and a peak of 96 MiB leaves room for it.
const memoryFloor = 56 << 20

// boundMemory sets how much garbage may wait, unless the environment says.
// What is held is a few large slices, so that a share of what is alive would be
// collected far too often at first, and leave far too much lying about later.
func boundMemory() {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(400)
	debug.SetMemoryLimit(memoryFloor)
	afterCollection()
}

// afterCollection raises the limit with what is alive, since a limit below that
// would have the collector run without end.
func afterCollection() {
	runtime.AddCleanup(new(sentinel), func(int) {
		live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
		metrics.Read(live)
		if live[0].Value.Kind() == metrics.KindUint64 {
			debug.SetMemoryLimit(max(memoryFloor, int64(live[0].Value.Uint64())*17/16+memoryFloor/16))
		}
		afterCollection()
	}, 0)
}

// sentinel is garbage at once, and so gone with the next collection. It holds
// a pointer, lest the runtime put it beside others that live on.
type sentinel struct{ _ *int }
