package issue

var structureRules = []Rule{}
