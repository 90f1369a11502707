#include "dsp/gear.h"

#include <cmath>
#include <numeric>
#include <stdexcept>

namespace howl {

namespace {

double teeth_of(int count) {
  if (count < 1) throw std::invalid_argument("gear: a gear has at least one tooth");
  return count;
}

}  // namespace

double mesh_rate(int teeth, double shaft_speed) { return teeth_of(teeth) * std::abs(shaft_speed); }

double hunting_tooth_rate(int teeth, int mate_teeth, double shaft_speed) {
  const double pairs = teeth_of(teeth) * teeth_of(mate_teeth);
  return mesh_rate(teeth, shaft_speed) * std::gcd(teeth, mate_teeth) / pairs;
}

PlanetarySpeeds planetary_from_sun_and_ring(const PlanetarySet& set, double sun, double ring) {
  const double zs = teeth_of(set.sun_teeth);
  const double zr = teeth_of(set.ring_teeth);
  return {sun, ring, (sun * zs + ring * zr) / (zs + zr)};
}

PlanetarySpeeds planetary_from_sun_and_carrier(const PlanetarySet& set, double sun,
                                               double carrier) {
  const double ratio = teeth_of(set.sun_teeth) / teeth_of(set.ring_teeth);
  return {sun, carrier - (sun - carrier) * ratio, carrier};
}

PlanetarySpeeds planetary_from_ring_and_carrier(const PlanetarySet& set, double ring,
                                                double carrier) {
  const double ratio = teeth_of(set.ring_teeth) / teeth_of(set.sun_teeth);
  return {carrier - (ring - carrier) * ratio, ring, carrier};
}

double planetary_mesh_rate(const PlanetarySet& set, const PlanetarySpeeds& speeds) {
  return mesh_rate(set.sun_teeth, speeds.sun - speeds.carrier);
}

double planet_speed(const PlanetarySet& set, int planet_teeth, const PlanetarySpeeds& speeds) {
  const double ratio = teeth_of(set.sun_teeth) / teeth_of(planet_teeth);
  return speeds.carrier - (speeds.sun - speeds.carrier) * ratio;
}

std::vector<int> planetary_lines_at_ring(const PlanetarySet& set, int planets, int reach) {
  teeth_of(set.ring_teeth);
  if (planets < 1) throw std::invalid_argument("gear: a planetary set has at least one planet");
  std::vector<int> lines;
  for (int order = set.ring_teeth - reach; order <= set.ring_teeth + reach; ++order)
    if (order > 0 && order % planets == 0) lines.push_back(order);
  return lines;
}

}  // namespace howl
