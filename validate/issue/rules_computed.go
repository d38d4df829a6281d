package issue

var computedRules = []Rule{}
