package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

// Below this many bytes nothing is collected: most jobs end before they have
// made as much garbage. A damaged file may cost 64 MiB, with the program itself in it.
const memoryFloor = 44 << 20

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
		debug.SetMemoryLimit(max(memoryFloor, withRoom()))
		afterCollection()
	}, 0)
}

// withRoom is the limit under which a thirty-second of what is alive and of the floor may be
// made before the next collection. The limit counts what the runtime needs besides, and
// it keeps a thirty-second of it back.
func withRoom() int64 {
	now := []metrics.Sample{
		{Name: "/gc/heap/live:bytes"}, {Name: "/memory/classes/total:bytes"},
		{Name: "/memory/classes/heap/released:bytes"}, {Name: "/memory/classes/heap/free:bytes"}, {Name: "/memory/classes/heap/objects:bytes"},
	}
	metrics.Read(now)
	var bytes [5]int64
	for i, m := range now {
		if m.Value.Kind() != metrics.KindUint64 {
			return 0
		}
		bytes[i] = int64(m.Value.Uint64())
	}
	live, besides := bytes[0], bytes[1]-bytes[2]-bytes[3]-bytes[4]
	return (live*33/32 + memoryFloor/32 + besides) * 33 / 32
}

// sentinel is garbage at once, and so gone with the next collection. It holds
// a pointer, lest the runtime put it beside others that live on.
type sentinel struct{ _ *int }
