package voice

var tunings = map[string][tuneSteps]tuning{}
