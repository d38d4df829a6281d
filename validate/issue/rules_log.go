package issue

var logRules = []Rule{}
